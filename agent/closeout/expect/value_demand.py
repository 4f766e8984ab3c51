"""What a demand asks of an attribute: a reader for each key, and which key fits which attribute."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final, TypeAlias

from closeout.expect.document import is_list
from closeout.expect.mistake import KeyPath, list_words
from closeout.expect.pattern import fault_of_pattern
from closeout.expect.proofreader import Proofreader
from closeout.expect.scalar import Table, Target, attribute_named, read_measure, read_scalar
from closeout.expect.vocabulary import MOST_VALUES, OCCUPANCY, UNIT_FIELDS, VALUE_DEMANDS
from closeout.model.attribute import Shape, attributes_of
from closeout.model.expectation import (
    DEMANDS_BY_SHAPE,
    Demand,
    Empty,
    Equals,
    Filled,
    MatchesOrder,
    NewerOrEqual,
    OneOf,
    Pattern,
    Scalar,
    Within,
)
from closeout.model.inventory import KINDS

ENDS: Final = 2
TOLERANCES: Final = ("tolerance", "tolerance_percent")
"""Keys beside `equals`: how far off a number may be, in its unit or in hundredths of it."""
WHOLE_PERCENT: Final = 100

DemandReader: TypeAlias = Callable[[Proofreader, KeyPath, Table, Target], Demand | None]


def read_bounds(
    proof: Proofreader, path: KeyPath, table: Table, low_key: str, high_key: str
) -> tuple[int | None, int | None] | None:
    """Low and high bound, either open; None where one is wrong or they cross."""
    given = [key for key in (low_key, high_key) if key in table]
    bounds = {key: proof.number((*path, key), table[key]) for key in given}
    if None in bounds.values():
        return None
    low, high = bounds.get(low_key), bounds.get(high_key)
    if low is not None and high is not None and low > high:
        proof.note((*path, high_key), f"{high} is below {low_key}, which is {low}")
        return None
    return low, high


def read_value_demand(
    proof: Proofreader, path: KeyPath, table: Table, kind: str, given: list[str]
) -> Demand | None:
    """The demand that the one key in `given`, or a pair of them, makes on the named attribute."""
    place = (*path, "attribute")
    asked = table["attribute"]
    if isinstance(asked, str) and asked in OCCUPANCY:
        proof.note(place, "an empty bay takes no part in any demand; give present = true instead")
        return None
    allowed = tuple(name for name in attributes_of(KINDS[kind]) if name not in OCCUPANCY)
    name = proof.choice(place, asked, allowed)
    if name is None:
        return None
    shape = attribute_named((kind, name)).shape
    fitting = [key for key, demand in VALUE_DEMANDS.items() if demand in DEMANDS_BY_SHAPE[shape]]
    if unfit := [key for key in given if key not in fitting]:
        wrong = f"does not fit {kind}.{name}, which holds {shape.value}"
        proof.note((*path, unfit[0]), f"{wrong}; allowed: {list_words(fitting)}")
        return None
    return DEMAND_READERS[given[0]](proof, path, table, (kind, name))


def _read_filled(proof: Proofreader, path: KeyPath, table: Table, _: Target) -> Demand | None:
    return Filled() if proof.only_true((*path, "filled"), table["filled"]) else None


def _read_empty(proof: Proofreader, path: KeyPath, table: Table, _: Target) -> Demand | None:
    return Empty() if proof.only_true((*path, "empty"), table["empty"]) else None


def _read_equals(proof: Proofreader, path: KeyPath, table: Table, target: Target) -> Demand | None:
    value = read_scalar(proof, (*path, "equals"), table["equals"], target)
    given = [key for key in TOLERANCES if key in table]
    if not given:
        return None if value is None else Equals(value=value)
    margin = _read_margin(proof, path, table, given, target)
    if margin is None or not isinstance(value, int):
        return None
    spread = margin if given == ["tolerance"] else value * margin // WHOLE_PERCENT
    return Within(low=max(value - spread, 0), high=value + spread)


def _read_margin(
    proof: Proofreader, path: KeyPath, table: Table, given: list[str], target: Target
) -> int | None:
    """How far off the number may be; None with the mistake noted."""
    place = (*path, given[-1])
    attribute = attribute_named(target)
    if len(given) > 1:
        proof.note(place, f"one of {list_words(given)} is wanted, and not both")
        return None
    if attribute.shape is not Shape.INTEGER:
        proof.note(place, f"{target[0]}.{target[1]} holds {attribute.shape.value}, no number")
        return None
    if "source" not in table:
        proof.note(place, "who says so? a tolerance needs its source")
        return None
    margin = proof.number(place, table[given[0]], "%" if given[0] != "tolerance" else "")
    if margin == 0:
        proof.note(place, "0 is no tolerance; leave it out")
        return None
    if margin is not None and given[0] != "tolerance" and margin >= WHOLE_PERCENT:
        proof.note(place, f"{margin} % takes in everything from 0 on; allowed: 1 to 99")
        return None
    return margin


def show_tolerance(table: Table) -> str:
    """`52000000 with a tolerance of 2 %`; empty for a demand without one."""
    for key in TOLERANCES:
        if key in table:
            unit = " %" if key != "tolerance" else ""
            return f"{table.get('equals')} with a tolerance of {table[key]}{unit}"
    return ""


def _read_one_of(proof: Proofreader, path: KeyPath, table: Table, target: Target) -> Demand | None:
    place = (*path, "one_of")
    listed = table["one_of"]
    read = [
        (item, read_scalar(proof, item, value, target))
        for item, value in proof.items(place, listed, MOST_VALUES)
    ]
    if listed == []:
        proof.note(place, "no value is allowed, so nothing could meet it; give at least one")
    values: list[Scalar] = []
    for item, value in read:
        if value is None:
            continue
        if value in values:
            proof.note(item, "given twice in this list")
        values.append(value)
    return OneOf(values=tuple(values)) if values and len(values) == len(read) else None


def _read_pattern(proof: Proofreader, path: KeyPath, table: Table, _: Target) -> Demand | None:
    place = (*path, "pattern")
    pattern = proof.text(place, table["pattern"])
    if pattern is None:
        return None
    if fault := fault_of_pattern(pattern):
        proof.note(place, fault)
        return None
    return Pattern(pattern=pattern)


def _read_limits(proof: Proofreader, path: KeyPath, table: Table, target: Target) -> Demand | None:
    attribute = attribute_named(target)
    given = [key for key in ("at_least", "at_most") if key in table]
    if None in [read_measure(proof, (*path, key), table[key], attribute) for key in given]:
        return None
    bounds = read_bounds(proof, path, table, "at_least", "at_most")
    return None if bounds is None else Within(low=bounds[0], high=bounds[1])


def _read_within(proof: Proofreader, path: KeyPath, table: Table, target: Target) -> Demand | None:
    place = (*path, "within")
    ends = table["within"]
    if not is_list(ends) or len(ends) != ENDS:
        proof.note(place, "a low and a high end are wanted: [low, high]")
        return None
    attribute = attribute_named(target)
    low = read_measure(proof, (*place, 0), ends[0], attribute)
    high = read_measure(proof, (*place, 1), ends[1], attribute)
    if low is None or high is None:
        return None
    if low > high:
        proof.note(place, "the first is above the second, so nothing could meet it")
        return None
    return Within(low=low, high=high)


def _read_order(proof: Proofreader, path: KeyPath, table: Table, target: Target) -> Demand | None:
    place = (*path, "matches_order")
    if target not in UNIT_FIELDS.values():
        offered = list_words(f"{kind}.{name}" for kind, name in UNIT_FIELDS.values())
        proof.note(place, f"no work order gives {target[0]}.{target[1]}; allowed: {offered}")
        return None
    return MatchesOrder(value=None) if proof.only_true(place, table["matches_order"]) else None


def _read_newer(proof: Proofreader, path: KeyPath, table: Table, _: Target) -> Demand | None:
    version = proof.text((*path, "newer_or_equal"), table["newer_or_equal"])
    return None if version is None else NewerOrEqual(version=version)


DEMAND_READERS: Final[Mapping[str, DemandReader]] = {
    "filled": _read_filled,
    "equals": _read_equals,
    "one_of": _read_one_of,
    "pattern": _read_pattern,
    "at_least": _read_limits,
    "at_most": _read_limits,
    "within": _read_within,
    "matches_order": _read_order,
    "newer_or_equal": _read_newer,
    "empty": _read_empty,
}
"""Who reads what: one entry for each key of `VALUE_DEMANDS`."""
