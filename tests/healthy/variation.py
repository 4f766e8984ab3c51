"""What a variation of a healthy unit is."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import IntEnum

from healthy.shown_unit import Change, ShownUnit


class Stage(IntEnum):
    """In which order variations of one unit are made.

    What is renamed, is renamed after what is drawn; a reading is refused when all is there.
    """

    STATE = 0
    OUTSIDE = 1
    NUMBERS = 2
    REFUSED = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Variation:
    """A healthy unit on another day or another bench.

    `touches` names what it is about: two that touch the same are not made at once. `undecided` is
    why a proof is honestly gone, empty where none is.
    """

    name: str
    change: Change
    stage: Stage
    touches: frozenset[str]
    undecided: str = ""


def vary(
    name: str, change: Change, *touches: str, stage: Stage = Stage.STATE, undecided: str = ""
) -> Variation:
    """A variation; what it touches is its name where nothing else is said."""
    return Variation(
        name=name,
        change=change,
        stage=stage,
        touches=frozenset(touches or (name,)),
        undecided=undecided,
    )


def make_all(unit: ShownUnit, variations: Iterable[Variation]) -> ShownUnit:
    """The unit with all of them."""
    for variation in sorted(variations, key=lambda one: one.stage):
        unit = variation.change(unit)
    return unit


def agree(variations: Iterable[Variation]) -> bool:
    """Whether no two of them touch the same."""
    touched = [each for variation in variations for each in variation.touches]
    return len(touched) == len(set(touched))
