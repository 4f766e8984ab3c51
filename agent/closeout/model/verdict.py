"""Release, hold or undecided: the first that applies, out of the must findings alone."""

from __future__ import annotations

from collections.abc import Sequence
from enum import Enum
from typing import Final

from closeout.model.expectation import Weight
from closeout.model.finding import Finding, Outcome, Reply


class Verdict(Enum):
    """What becomes of the unit."""

    RELEASE = "release"
    HOLD = "hold"
    UNDECIDED = "undecided"


UNPROVEN: Final = frozenset({Outcome.REVIEW, Outcome.UNREAD, Outcome.UNCOVERED})


def is_refused(finding: Finding) -> bool:
    """The demand failed or was answered no, and nobody conceded it."""
    failed = finding.outcome is Outcome.FAIL or _answered(finding, Reply.NO)
    return failed and finding.concession is None


def is_open(finding: Finding) -> bool:
    """The demand is not proven either way, and no person closed it.

    A yes closes it where the catalogue lets a person answer; a no that was conceded closes it
    too. A concession alone does not: it accepts a failure, and nothing is known to have failed.
    """
    if finding.outcome not in UNPROVEN:
        return False
    if _answered(finding, Reply.YES):
        return not finding.answerable
    return not (_answered(finding, Reply.NO) and finding.concession is not None)


def _answered(finding: Finding, reply: Reply) -> bool:
    return finding.answer is not None and finding.answer.reply is reply


def decide(findings: Sequence[Finding]) -> Verdict:
    """The verdict; without any must there is nothing that could earn a release."""
    demands = [finding for finding in findings if finding.weight is Weight.MUST]
    if any(is_refused(demand) for demand in demands):
        return Verdict.HOLD
    if not demands or any(is_open(demand) for demand in demands):
        return Verdict.UNDECIDED
    return Verdict.RELEASE
