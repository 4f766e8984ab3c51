"""Demands of one file that no unit could meet together, and demands made twice."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from itertools import combinations

from closeout.expect.pattern import MOST_QUICK_WAYS, ways_of
from closeout.expect.scalar import attribute_named
from closeout.model.attribute import Shape
from closeout.model.expectation import (
    Demand,
    Empty,
    Equals,
    Expectation,
    Filled,
    MatchesOrder,
    OneOf,
    Pattern,
    Present,
    Scalar,
    Within,
)


def find_clashes(expectations: Sequence[Expectation]) -> Iterator[tuple[int, int, str]]:
    """Positions of two demands that cannot stand together, the earlier first, and why."""
    groups: dict[tuple[str, str], list[int]] = {}
    for index, expectation in enumerate(expectations):
        groups.setdefault((expectation.kind, expectation.attribute), []).append(index)
    for group in groups.values():
        for first, second in combinations(group, 2):
            if why := why_not_both(expectations[first], expectations[second]):
                yield first, second, why
    yield from _find_hopeless(expectations)


def allows_none(demand: Present) -> bool:
    """Whether the demand is met where no such device is there."""
    return demand.at_least == 0


def _find_hopeless(expectations: Sequence[Expectation]) -> Iterator[tuple[int, int, str]]:
    """Demands on attributes of devices of which none may be there."""
    forbidden = [
        index
        for index, expectation in enumerate(expectations)
        if isinstance(expectation.demand, Present) and expectation.demand.at_most == 0
    ]
    for index in forbidden:
        none = expectations[index]
        for other, asked in enumerate(expectations):
            alike = (asked.kind, asked.external_counts) == (none.kind, none.external_counts)
            if alike and asked.attribute and set(none.where) <= set(asked.where):
                first, second = sorted((index, other))
                yield first, second, "cannot be met together with"


def why_not_both(first: Expectation, second: Expectation) -> str:
    """Why two demands on the same attribute cannot stand together, or nothing."""
    if _scope(first) == _scope(second) and first.demand == second.demand:
        return "asks the same as"
    if first.external_counts is not second.external_counts or not _is_nested(first, second):
        return ""
    if first.attribute and attribute_named((first.kind, first.attribute)).shape is Shape.TEXTS:
        is_apart = isinstance(first.demand, Empty) is not isinstance(second.demand, Empty)
        return "cannot be met together with" if is_apart else ""
    broad, narrow = _fewer_conditions(first, second)
    if is_disjoint(broad.demand, narrow.demand, same=broad.where == narrow.where):
        return "cannot be met together with"
    return ""


def why_never(expectation: Expectation) -> str:
    """Why no device could meet a demand under its own condition, or nothing."""
    for condition in expectation.where:
        same = condition.attribute == expectation.attribute
        if same and allows(expectation.demand, condition.value) is False:
            return "the condition under where leaves only devices that cannot meet it"
    return ""


def is_disjoint(broad: Demand, narrow: Demand, *, same: bool) -> bool:
    """Whether no unit could meet both; False too where that cannot be told.

    `narrow` is about some of the devices that `broad` is about, or with `same` about all of them:
    a count of some bounds the count of all from below only.
    """
    match broad, narrow:
        case Present(), Present():
            most = narrow.at_most if same else None
            return _are_apart(broad.at_least, broad.at_most, narrow.at_least, most)
        case Within(), Within():
            return _are_apart(broad.low, broad.high, narrow.low, narrow.high)
        case _:
            return _has_none(broad, narrow) or _has_none(narrow, broad)


def allows(demand: Demand, value: Scalar) -> bool | None:
    """Whether a value meets a demand; None where the demand alone does not tell."""
    match demand:
        case Filled():
            return True
        case Pattern():
            return (
                re.fullmatch(demand.pattern, str(value)) is not None if is_quick(demand) else None
            )
        case Within() if isinstance(value, int):
            low_enough = demand.high is None or value <= demand.high
            return low_enough and (demand.low is None or value >= demand.low)
        case _:
            values = values_of(demand)
            return value in values if values else None


def is_quick(demand: Pattern) -> bool:
    """Whether the pattern may be tried against all values of a file."""
    return ways_of(demand.pattern) <= MOST_QUICK_WAYS


def values_of(demand: Demand) -> tuple[Scalar, ...]:
    """The only values that meet a demand; empty where they cannot be listed."""
    match demand:
        case Equals():
            return (demand.value,)
        case OneOf():
            return demand.values
        case MatchesOrder() if demand.value is not None:
            return (demand.value,)
        case _:
            return ()


def _has_none(listed: Demand, other: Demand) -> bool:
    values = values_of(listed)
    return bool(values) and all(allows(other, value) is False for value in values)


def _are_apart(
    low: int | None, high: int | None, other_low: int | None, other_high: int | None
) -> bool:
    below = high is not None and other_low is not None and high < other_low
    above = other_high is not None and low is not None and other_high < low
    return below or above


def _scope(expectation: Expectation) -> tuple[object, ...]:
    return expectation.where, expectation.external_counts


def _is_nested(first: Expectation, second: Expectation) -> bool:
    """Whether every device that one is about is also one that the other is about."""
    mine, theirs = set(first.where), set(second.where)
    return mine <= theirs or theirs <= mine


def _fewer_conditions(first: Expectation, second: Expectation) -> tuple[Expectation, Expectation]:
    """The two with the one about more devices first."""
    return (second, first) if len(second.where) < len(first.where) else (first, second)
