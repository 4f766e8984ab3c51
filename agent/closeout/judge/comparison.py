"""One reading against one demand. A reading without a value can never pass."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TYPE_CHECKING, Final, assert_never, cast

from closeout.model.expectation import (
    Asked,
    Demand,
    Empty,
    Equals,
    Filled,
    MatchesOrder,
    NewerOrEqual,
    OneOf,
    Pattern,
    Present,
    Scalar,
    Within,
)
from closeout.model.finding import Outcome
from closeout.model.frozen import frozen
from closeout.model.reading import Absent, Blank, Filler, Reading, Unreadable, Value

if TYPE_CHECKING:
    from uuid import UUID

UUID_CHARACTERS: Final = 36


@frozen
class Match:
    """What became of the demand; `remark` is added to what was found where it helps."""

    outcome: Outcome
    remark: str = ""


MET = Match(outcome=Outcome.PASS)
MISSED = Match(outcome=Outcome.FAIL)


def match_reading(reading: Reading[object], demand: Demand) -> Match:
    """The outcome of an attribute demand.

    Unreadable is unread. Blank and filler fail: the field is there and does not hold what is
    wanted. Absent fails where a value is all that is asked, and is unread where a certain value
    is: a kernel that does not offer the attribute says nothing about it.
    """
    match reading:
        case Unreadable():
            return Match(outcome=Outcome.UNREAD)
        case Absent():
            return MISSED if isinstance(demand, Filled) else Match(outcome=Outcome.UNREAD)
        case Blank() | Filler():
            return MISSED
        case Value(value=value):
            return _match_value(value, demand)
        case _:
            assert_never(reading)


def _match_value(  # noqa: C901, PLR0911, PLR0912 - one case a demand, checked to be complete
    value: object, demand: Demand
) -> Match:
    match demand:
        case Filled():
            return MET
        case Empty():
            return MISSED if value else MET
        case Asked():
            return Match(outcome=Outcome.REVIEW)
        case Equals(value=wanted):
            return _match_wanted(value, wanted)
        case MatchesOrder(value=wanted):
            if wanted is None:
                return Match(outcome=Outcome.REVIEW, remark="compare it with the label")
            return _match_wanted(value, wanted)
        case OneOf(values=values):
            return _met(value, lambda part: any(is_same(part, wanted) for wanted in values))
        case Pattern(pattern=pattern):
            return _met(value, lambda part: re.fullmatch(pattern, str(part)) is not None)
        case Within(low=low, high=high):
            return _met(value, lambda part: _is_within(part, low, high))
        case NewerOrEqual(version=version):
            return _match_version(str(value), version)
        case Present():
            raise TypeError("presence is counted over devices, not compared with a reading")
        case _:
            assert_never(demand)


def is_same(found: object, wanted: Scalar) -> bool:
    """Equal in value and in type; True is not 1. Two spellings of one UUID are the same."""
    if type(found) is not type(wanted):
        return False
    if found == wanted:
        return True
    mine, theirs = parse_uuid(found), parse_uuid(wanted)
    return mine is not None and mine == theirs


def parts_of(value: object) -> tuple[object, ...]:
    """The texts of a list, or the one value that there is."""
    return cast("tuple[object, ...]", value) if isinstance(value, tuple) else (value,)


def parse_uuid(value: object) -> UUID | None:
    """The UUID that a text of the usual 36 characters spells, in either case; else None."""
    if not isinstance(value, str) or len(value) != UUID_CHARACTERS:
        return None
    from uuid import UUID  # noqa: PLC0415 - few comparisons come to this

    try:
        return UUID(value)
    except ValueError:
        return None


def _met(value: object, holds: Callable[[object], bool]) -> Match:
    return MET if any(holds(part) for part in parts_of(value)) else MISSED


def _match_wanted(value: object, wanted: Scalar) -> Match:
    match = _met(value, lambda part: is_same(part, wanted))
    if match is MET or not isinstance(value, str) or not isinstance(wanted, str):
        return match
    if value.casefold() == wanted.casefold():
        return Match(outcome=Outcome.FAIL, remark="only the case differs")
    if _is_swapped(value, wanted):
        return Match(outcome=Outcome.FAIL, remark="the same UUID in the other byte order")
    return match


def _is_swapped(value: str, wanted: str) -> bool:
    mine, theirs = parse_uuid(value), parse_uuid(wanted)
    return mine is not None and theirs is not None and mine.bytes_le == theirs.bytes


def _is_within(value: object, low: int | None, high: int | None) -> bool:
    return (
        isinstance(value, int) and (low is None or value >= low) and (high is None or value <= high)
    )


def _match_version(found: str, wanted: str) -> Match:
    from closeout.decode.version_order import Order, compare_versions  # noqa: PLC0415 - many patterns

    comparison = compare_versions(wanted, found)
    match comparison.order:
        case Order.LESS | Order.EQUAL:
            return MET
        case Order.GREATER:
            return MISSED
        case Order.UNKNOWN:
            return Match(outcome=Outcome.REVIEW, remark=comparison.reason)
        case _:
            assert_never(comparison.order)
