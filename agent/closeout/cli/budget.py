"""How long a check takes, told before it starts: as a rule (common practice), not of this unit."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from closeout.expect.repair_demands import seconds_of
from closeout.judge.questions import ASKED
from closeout.kernel.deadlines import RUN_SECONDS
from closeout.model.expectation import CONNECTION, Expectation
from closeout.model.frozen import frozen
from closeout.model.repair_map import RepairMap

USUAL_READING_SECONDS: Final = 10
LONGEST_READING_SECONDS: Final = int(RUN_SECONDS)
MINUTE: Final = 60


@frozen
class Budget:
    """What is certain before anything was read: how many questions, and their seconds of hands."""

    questions: int
    seconds: int


def budget_of(expectations: Sequence[Expectation], repair_map: RepairMap | None) -> Budget:
    """What the repairs ask of a person for certain; what cannot be read comes on top."""
    asked = [
        expectation
        for expectation in expectations
        if expectation.kind == CONNECTION and expectation.weight in ASKED
    ]
    seconds = seconds_of(repair_map, asked) if repair_map else 0
    return Budget(questions=len(asked), seconds=seconds)


def tell_budget(budget: Budget | None) -> str:
    """The budget in a sentence; None where the unit itself still has to say which model it is."""
    reading = f"reading {show_seconds(USUAL_READING_SECONDS)} as a rule,"
    reading += f" {show_seconds(LONGEST_READING_SECONDS)} at most"
    if budget is None:
        return f"Budget: {reading}; then what the model and the readings leave to ask"
    if not budget.questions:
        return f"Budget: {reading}; questions only where something cannot be read"
    many = "s" if budget.questions > 1 else ""
    hands = f"{budget.questions} question{many}, {show_seconds(budget.seconds)} of hands"
    return f"Budget: {reading}; {hands}, more where something cannot be read"


def show_seconds(seconds: int) -> str:
    """`40 s`, `3 min`, `3 min 20 s`."""
    minutes, rest = divmod(seconds, MINUTE)
    parts = [f"{minutes} min"] if minutes else []
    return " ".join([*parts, f"{rest} s"] if rest or not minutes else parts)
