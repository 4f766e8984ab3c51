"""Readings and demands in words, as they stand in a finding."""

from __future__ import annotations

from typing import Final, assert_never

from closeout.model.amounts import show_value
from closeout.model.attribute import Attribute
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
from closeout.model.reading import Absent, Blank, Filler, Reading, Unreadable, Value

ABSENT: Final = "absent: "
"""How a finding begins whose reading the machine does not have."""


def show_reading(reading: Reading[object], attribute: Attribute) -> str:
    """A reading with its state, so that blank, filler, absent and unreadable stay apart."""
    match reading:
        case Value(value=value):
            return show_value(value, attribute.unit)
        case Blank(reason=reason):
            return f"blank: {reason}"
        case Filler(text=text, reason=reason):
            return f"filler '{text}': {reason}"
        case Absent(reason=reason):
            return f"{ABSENT}{reason}"
        case Unreadable(error=error, advice=advice):
            return f"could not be read ({error}): {advice}"
        case _:
            assert_never(reading)


def show_demand(  # noqa: C901, PLR0911, PLR0912 - one case a demand, checked to be complete
    demand: Demand, unit: str
) -> str:
    """A demand as people read it."""
    match demand:
        case Present(at_least=least, at_most=most):
            return _show_count(least, most)
        case Within(low=low, high=high):
            return _show_range(low, high, unit)
        case Filled():
            return "a value of its own"
        case Empty():
            return "none"
        case Asked(wanted=wanted):
            return wanted or "yes, by a person who looked"
        case Pattern(pattern=pattern):
            return f"text like {pattern}"
        case MatchesOrder(value=None):
            return "what the work order says (it does not say)"
        case NewerOrEqual(version=version):
            return f"version {version} or newer"
        case Equals(value=value) | MatchesOrder(value=value):
            return show_value(value, unit)
        case OneOf(values=values):
            return f"one of {_show_choice(values, unit)}"
        case _:
            assert_never(demand)


def _show_choice(values: tuple[Scalar, ...], unit: str) -> str:
    return ", ".join(show_value(value, unit) for value in values)


def _show_count(least: int, most: int | None) -> str:
    if most is None:
        return "present" if least == 1 else f"at least {least}"
    if most == least:
        return "none" if most == 0 else f"exactly {most}"
    return f"at most {most}" if least == 0 else f"{least} to {most}"


def _show_range(low: int | None, high: int | None, unit: str) -> str:
    if low is None:
        return f"at most {show_value(high, unit)}"
    if high is None:
        return f"at least {show_value(low, unit)}"
    return f"{show_value(low, unit)} to {show_value(high, unit)}"
