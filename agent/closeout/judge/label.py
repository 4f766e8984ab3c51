"""The label that was scanned off the unit, held against the work order."""

from __future__ import annotations

from closeout.model.expectation import Weight
from closeout.model.finding import Finding, Outcome
from closeout.model.label_agreement import LABEL_RULE


def judge_label(label: str, serial: str, order: str) -> Finding:
    """A must that no person can answer: the label has to give the serial of the order."""
    return Finding(
        rule=LABEL_RULE,
        subject="label",
        label="label of the unit",
        weight=Weight.MUST,
        outcome=Outcome.PASS if label == serial else Outcome.FAIL,
        expected=serial,
        found=label,
        origin=f"work order {order}",
        evidence=(),
        answerable=False,
        answer=None,
        concession=None,
    )
