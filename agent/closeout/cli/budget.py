"""How long a check takes, told before it starts: a table of common practice, not of this unit."""

from collections.abc import Mapping, Sequence
from typing import Final

from closeout.expect.repair_demands import seconds_of
from closeout.judge.questions import ASKED, NEEDS_TIME
from closeout.kernel.deadlines import RUN_SECONDS
from closeout.model.expectation import CONNECTION, Asked, Expectation
from closeout.model.frozen import frozen
from closeout.model.repair_map import RepairMap

# Common practice: what a practised pair of hands needs to look, press and answer, in seconds.
HANDS_SECONDS: Final[Mapping[str, int]] = {
    CONNECTION: 30,
    "display": 20,
    "keyboard": 40,
    "touchpad": 20,
    "sound_device": 30,
    "camera": 20,
    "type_c_port": 40,
    "usb_port": 30,
    "clock": 60,
}
OTHER_HANDS_SECONDS: Final = 20
WAITING_SECONDS: Final = 600
"""For a question that needs only time (common practice: ten minutes without power)."""
USUAL_READING_SECONDS: Final = 10
LONGEST_READING_SECONDS: Final = int(RUN_SECONDS)
MINUTE: Final = 60


@frozen
class Budget:
    """What is certain before anything was read: how many questions, and their seconds."""

    questions: int
    hands_seconds: int
    waiting_seconds: int


def budget_of(expectations: Sequence[Expectation], repair_map: RepairMap | None) -> Budget:
    """What the demands ask of a person for certain; what cannot be read comes on top.

    The repair map knows how long its own questions take.
    """
    asked = [
        expectation
        for expectation in expectations
        if isinstance(expectation.demand, Asked) and expectation.weight in ASKED
    ]
    others = [one for one in asked if one.kind != CONNECTION or repair_map is None]
    mapped = seconds_of(repair_map, asked) if repair_map else 0
    hands = sum(HANDS_SECONDS.get(one.kind, OTHER_HANDS_SECONDS) for one in others)
    return Budget(
        questions=len(asked),
        hands_seconds=hands + mapped,
        waiting_seconds=WAITING_SECONDS if any(one.rule in NEEDS_TIME for one in asked) else 0,
    )


def tell_budget(budget: Budget | None) -> str:
    """The budget in a sentence; None where the unit itself still has to say which model it is."""
    reading = f"reading {show_seconds(USUAL_READING_SECONDS)} as a rule,"
    reading += f" {show_seconds(LONGEST_READING_SECONDS)} at most"
    if budget is None:
        return f"Budget: {reading}; then what the model and the readings leave to ask"
    if not budget.questions:
        return f"Budget: {reading}; questions only where something cannot be read"
    many = "s" if budget.questions > 1 else ""
    hands = f"{budget.questions} question{many}, {show_seconds(budget.hands_seconds)} of hands"
    waiting = budget.waiting_seconds
    waits = f", {show_seconds(waiting)} of waiting" if waiting else ""
    return f"Budget: {reading}; {hands}{waits}, more where something cannot be read"


def show_seconds(seconds: int) -> str:
    """`40 s`, `3 min`, `3 min 20 s`."""
    minutes, rest = divmod(seconds, MINUTE)
    parts = [f"{minutes} min"] if minutes else []
    return " ".join([*parts, f"{rest} s"] if rest or not minutes else parts)
