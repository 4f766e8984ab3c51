"""Parts that the work order says were fitted, each of which the unit must have.

Which device is meant is told by all that the order says of the part together, its place
(`locator`, `connector`), serial number or address most of all; the report then says what of it
differs. A part of which nothing is said is met by any device of its class. Each needs a device of
its own: listed twice, two such devices must be there.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from closeout.expect.demand import read_line, read_word
from closeout.expect.mistake import KeyPath
from closeout.expect.order_facts import PART_NUMBER, change_of
from closeout.expect.part_demand import note_twin
from closeout.expect.proofreader import Proofreader
from closeout.expect.scalar import Table, Target, read_label, read_measure
from closeout.expect.vocabulary import (
    FITTED_BATTERY_HEALTH,
    FITTED_CLASSES,
    MOST_PARTS,
    OCCUPANCY,
    OUTSIDE_BY_NATURE,
)
from closeout.model.attribute import Attribute, Shape, attributes_of
from closeout.model.expectation import Demand, Equals, Expectation, Weight, Within
from closeout.model.handling import PartChange
from closeout.model.inventory import KINDS
from closeout.model.part_demand import PLACES, PartDemand, Wanted

HEALTH: Final = "health_percent"
HEALTH_KEY: Final = "health_at_least"
HEALTH_MEASURE: Final = Attribute(meaning="", shape=Shape.INTEGER, unit="%", personal=False)


def read_fitted(
    proof: Proofreader, tree: Table, origin: str
) -> tuple[tuple[PartDemand, ...], tuple[PartChange, ...]]:
    """The parts under `[[fitted]]` and how a report names them, with every mistake noted."""
    parts: dict[KeyPath, PartDemand] = {}
    changes: list[PartChange] = []
    for path, table in proof.tables(("fitted",), tree.get("fitted", []), MOST_PARTS):
        proof.required(path, table, "class")
        if kind := read_word(proof, path, table, "class", FITTED_CLASSES):
            part = _read_part(proof, path, table, kind, origin)
            note_twin(proof, path, part, parts)
            parts[path] = part
            changes.append(change_of(part, table))
    return tuple(parts.values()), tuple(changes)


def must(target: Target, demand: Demand, origin: str) -> Expectation:
    """A demand of the order itself."""
    kind, attribute = target
    return Expectation(
        kind=kind,
        attribute=attribute,
        demand=demand,
        weight=Weight.MUST,
        where=(),
        review_only=False,
        external_counts=kind in OUTSIDE_BY_NATURE,
        origin=origin,
    )


def attributes_of_part(kind: str) -> tuple[str, ...]:
    """What an order may say of a part of this class."""
    return tuple(
        name for name in attributes_of(KINDS[kind]) if name not in OCCUPANCY and name != HEALTH
    )


def _read_part(
    proof: Proofreader, path: KeyPath, table: Table, kind: str, origin: str
) -> PartDemand:
    others = ("class", HEALTH_KEY) if kind == "battery" else ("class",)
    attributes = attributes_of_part(kind)
    if PART_NUMBER not in attributes:  # no reading tells it: it is for the report alone
        read_line(proof, path, table, PART_NUMBER)
    proof.known_keys(path, table, dict.fromkeys((*others, *attributes, PART_NUMBER)))
    wanted = tuple(_read_wanted(proof, path, table, kind))
    return PartDemand(
        kind=kind,
        name=_name_of(kind, wanted),
        weight=Weight.MUST,
        wanted=wanted,
        connection="",
        bus_ids=(),
        origin=origin,
        review_only=False,
        external_counts=kind in OUTSIDE_BY_NATURE,
    )


def _read_wanted(proof: Proofreader, path: KeyPath, table: Table, kind: str) -> Iterator[Wanted]:
    for name in attributes_of_part(kind):
        if name in table:
            value = read_label(proof, (*path, name), table[name], (kind, name))
            if value is not None:
                yield name, Equals(value=value)
    if health := _read_health(proof, path, table, kind):
        yield HEALTH, Within(low=health, high=None)


def _name_of(kind: str, wanted: tuple[Wanted, ...]) -> str:
    """What the report calls it: never by its number, which is personal."""
    words = kind.replace("_", " ")
    for attribute, demand in wanted:
        if attribute in PLACES and isinstance(demand, Equals):
            return f"{words} in {demand.value}"
    return f"fitted {words}"


def _read_health(proof: Proofreader, path: KeyPath, table: Table, kind: str) -> int:
    if kind != "battery":
        return 0
    if HEALTH_KEY not in table:
        return FITTED_BATTERY_HEALTH
    value = read_measure(proof, (*path, HEALTH_KEY), table[HEALTH_KEY], HEALTH_MEASURE)
    return FITTED_BATTERY_HEALTH if value is None else value
