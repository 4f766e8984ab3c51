"""Answers and concessions, attempts, revisions and the hand-back list, as in `report.json`."""

from __future__ import annotations

from closeout.model.finding import Answer, Concession
from closeout.model.handling import EarlierAttempt, HandBack, HandBackItem, Revision, VoidProof
from closeout.report.circumstances_json import tree_of_moment


def tree_of_saying(saying: Answer | Concession) -> dict[str, object]:
    """The object of an answer or a concession."""
    reply = {"reply": saying.reply.value} if isinstance(saying, Answer) else {}
    return {
        **reply,
        "by": saying.by,
        "reason": saying.reason,
        "at": None if saying.at is None else tree_of_moment(saying.at),
        "attempt": saying.attempt,
    }


def tree_of_earlier(attempt: EarlierAttempt) -> dict[str, object]:
    """The object of an earlier attempt."""
    return {
        "attempt": attempt.attempt,
        "revision": attempt.revision,
        "verdict": attempt.verdict,
        "reasons": list(attempt.reasons),
        "reopened": list(attempt.reopened),
        "started": tree_of_moment(attempt.started),
        "digest": attempt.digest,
    }


def tree_of_revision(revision: Revision) -> dict[str, object]:
    """The object of a revision."""
    return {
        "number": revision.number,
        "change": revision.change,
        "by": revision.by,
        "at": tree_of_moment(revision.at),
        "digest": revision.digest,
    }


def tree_of_void(void: VoidProof) -> dict[str, object]:
    """The object of what does not hold any more."""
    return {"rule": void.rule, "subject": void.subject, "said": void.said, "why": void.why}


def tree_of_hand_back(hand_back: HandBack) -> dict[str, object]:
    """The object of the hand-back list."""
    return {
        "items": [_tree_of_item(item) for item in hand_back.items],
        "withheld": hand_back.withheld,
    }


def _tree_of_item(item: HandBackItem) -> dict[str, object]:
    return {
        "title": item.title,
        "action": item.action,
        "value": item.value,
        "found": item.found,
        "is_scannable": item.is_scannable,
        "caution": item.caution,
    }
