"""Answers and concessions, attempts, revisions and the hand-back list, out of `report.json`."""

from __future__ import annotations

from closeout.model.finding import Answer, Concession, Reply
from closeout.model.handling import EarlierAttempt, HandBack, HandBackItem, Revision, VoidProof
from closeout.report.circumstances_from_json import load_moment
from closeout.report.fields import Fields


def load_answer(answer: Fields) -> Answer:
    """The answer in its object."""
    return Answer(
        reply=answer.choice("reply", Reply),
        by=answer.text("by"),
        reason=answer.text("reason"),
        at=answer.optional("at", load_moment),
        attempt=answer.integer("attempt", 0),
    )


def load_concession(concession: Fields) -> Concession:
    """The concession in its object."""
    return Concession(
        by=concession.text("by"),
        reason=concession.text("reason"),
        at=concession.optional("at", load_moment),
        attempt=concession.integer("attempt", 0),
    )


def load_earlier(attempt: Fields) -> EarlierAttempt:
    """The earlier attempt in its object."""
    return EarlierAttempt(
        attempt=attempt.integer("attempt"),
        revision=attempt.integer("revision"),
        verdict=attempt.text("verdict"),
        reasons=attempt.texts("reasons"),
        reopened=attempt.texts("reopened"),
        started=load_moment(attempt.fields("started")),
        digest=attempt.text("digest"),
    )


def load_revision(revision: Fields) -> Revision:
    """The revision in its object."""
    return Revision(
        number=revision.integer("number"),
        change=revision.text("change"),
        by=revision.text("by"),
        at=load_moment(revision.fields("at")),
        digest=revision.text("digest"),
    )


def load_void(void: Fields) -> VoidProof:
    """What does not hold any more in its object."""
    return VoidProof(
        rule=void.text("rule"),
        subject=void.text("subject"),
        said=void.text("said"),
        why=void.text("why"),
    )


def load_hand_back(hand_back: Fields) -> HandBack:
    """The hand-back list in its object."""
    return HandBack(
        items=tuple(_load_item(item) for item in hand_back.each("items")),
        withheld=hand_back.text("withheld"),
    )


def _load_item(item: Fields) -> HandBackItem:
    return HandBackItem(
        title=item.text("title"),
        action=item.text("action"),
        value=item.text("value"),
        found=item.text("found"),
        is_scannable=item.flag("is_scannable"),
        caution=item.text("caution"),
    )
