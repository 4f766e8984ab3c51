"""Which findings are put to a person, and in which order."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from closeout.model.expectation import Weight
from closeout.model.finding import Finding
from closeout.model.verdict import UNPROVEN

ASKED: Final = (Weight.MUST, Weight.SHOULD)
NEEDS_TIME: Final = frozenset({"clock.battery_state"})
"""Rules whose question takes ten minutes in which no hand is needed: asked last of their weight."""


def open_questions(findings: Sequence[Finding]) -> tuple[int, ...]:
    """The numbers, from 1, of what a person may answer and did not: musts first, then shoulds.

    What needs hands comes before what needs only time, and what is at the same connection, or on
    the same device, is together.
    """
    asked = [
        number
        for number, finding in enumerate(findings, start=1)
        if finding.weight in ASKED and is_question(finding)
    ]
    first_at: dict[str, int] = {}
    for number in asked:
        first_at.setdefault(_place(findings[number - 1]), number)
    return tuple(
        sorted(asked, key=lambda number: (*_stage(findings[number - 1], first_at), number))
    )


def is_question(finding: Finding) -> bool:
    """A person may answer it, and no reading and no answer says how it is."""
    return finding.answerable and finding.outcome in UNPROVEN and finding.answer is None


def _stage(finding: Finding, first_at: dict[str, int]) -> tuple[int, bool, int]:
    needs_time = finding.rule in NEEDS_TIME
    return (ASKED.index(finding.weight), needs_time, first_at[_place(finding)])


def _place(finding: Finding) -> str:
    return finding.connection or finding.subject
