"""The outcome of one expectation, and what people said about it."""

from __future__ import annotations

from enum import Enum

from closeout.model.expectation import Weight
from closeout.model.frozen import frozen
from closeout.model.moment import Moment


class Outcome(Enum):
    """What became of a demand. Answers and concessions stand beside it and never change it."""

    PASS = "pass"  # noqa: S105 - an outcome, not a password
    FAIL = "fail"
    REVIEW = "review"
    UNREAD = "unread"
    UNCOVERED = "uncovered"


class Reply(Enum):
    """A person's yes or no to the question of a finding."""

    YES = "yes"
    NO = "no"


@frozen
class Answer:
    """Who said yes or no, and why; when, and in which attempt, where that is known."""

    reply: Reply
    by: str
    reason: str
    at: Moment | None = None
    attempt: int = 0


@frozen
class Concession:
    """A lead's written acceptance of a failed demand; printed in full, never a pass."""

    by: str
    reason: str
    at: Moment | None = None
    attempt: int = 0


@frozen
class Finding:
    """`rule` and `subject` together name a finding; `expected` and `found` are for people.

    `subject` is the place of the device, or the kind where no device was found; `label` is what
    people call it; `connection` is the cable to reseat, where the profile names one. `evidence`
    are the questions that the outcome rests on.
    """

    rule: str
    subject: str
    label: str
    weight: Weight
    outcome: Outcome
    expected: str
    found: str
    origin: str
    evidence: tuple[str, ...]
    answerable: bool
    answer: Answer | None
    concession: Concession | None
    connection: str = ""

    @property
    def kind(self) -> str:
        """The kind of device that it is about, or what stands in place of one."""
        return self.rule.partition(".")[0]
