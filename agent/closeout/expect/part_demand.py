"""The `[[part]]` tables of a profile: one table, one part, one device.

Beside its own keys a table has attributes of the class: a plain value must be had exactly, a table
asks as a demand does (`size_bytes = { at_least = 8589934592 }`). An attribute called as one of the
table's own keys (`name` of a keyboard) cannot be given.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Final

from closeout.expect.demand import BUS_IDS, MISMATCHES, WEIGHTS, read_bus_ids, read_line, read_word
from closeout.expect.document import is_table
from closeout.expect.mistake import KeyPath, list_words
from closeout.expect.proofreader import Proofreader
from closeout.expect.scalar import Table, read_scalar
from closeout.expect.value_demand import read_value_demand
from closeout.expect.vocabulary import (
    BUS_CLASSES,
    MOST_PARTS,
    OCCUPANCY,
    OUTSIDE_BY_NATURE,
    PAIRED_DEMANDS,
    VALUE_DEMANDS,
)
from closeout.model.attribute import attributes_of
from closeout.model.expectation import Demand, Equals, Expectation, Present, Weight
from closeout.model.inventory import KINDS
from closeout.model.part_demand import OWN_NUMBERS, PLACES, PartDemand

PARTS: Final = "part"
PART_KEYS: Final = ("class", "name", "weight", "connection", BUS_IDS, "source", "on_mismatch")
WANTED_DEMANDS: Final = tuple(key for key in VALUE_DEMANDS if key != "matches_order")
"""What a table may ask of an attribute: a work order names parts of its own."""


def read_parts(
    proof: Proofreader, tree: Table, origin: str, expectations: Iterable[Expectation] = ()
) -> tuple[PartDemand, ...]:
    """The parts of a profile, with every mistake noted.

    `expectations` are its demands: where they allow fewer devices than there are parts, no unit
    could meet both.
    """
    parts: dict[KeyPath, PartDemand] = {}
    for path, table in proof.tables((PARTS,), tree.get(PARTS, []), MOST_PARTS):
        part = _read_part(proof, path, table, origin)
        if part is not None:
            note_twin(proof, path, part, parts)
            parts[path] = part
    for expectation in expectations:
        _note_crowd(proof, parts, expectation)
    return tuple(parts.values())


def note_twin(
    proof: Proofreader, path: KeyPath, part: PartDemand, others: dict[KeyPath, PartDemand]
) -> None:
    """Notes a part that sits where another does, or has its number: only one of them can."""
    mine = own_marks(part)
    for place, other in others.items():
        if other.kind == part.kind and mine & own_marks(other):
            line = proof.line(place)
            proof.note(path, f"this part is on line {line} already, with the same place or serial")
            return


def _note_crowd(
    proof: Proofreader, parts: Mapping[KeyPath, PartDemand], expectation: Expectation
) -> None:
    """Notes the first part beyond what a demand for devices allows of its class."""
    alike = [path for path, part in parts.items() if part.kind == expectation.kind]
    match expectation:
        case Expectation(demand=Present(at_most=int(most)), where=()) if len(alike) > most:
            wrong = f"a demand allows {most} of this class at most, and this is part {most + 1}"
            proof.note(alike[most], wrong)
        case _:
            pass


def own_marks(part: PartDemand) -> frozenset[tuple[str, object]]:
    """By what the part differs from every other one: its place, or failing that its number."""
    exact = [
        (attribute, demand.value) for attribute, demand in part.wanted if isinstance(demand, Equals)
    ]
    places = frozenset(mark for mark in exact if mark[0] in PLACES)
    return places or frozenset(mark for mark in exact if mark[0] in OWN_NUMBERS)


def part_attributes(kind: str) -> tuple[str, ...]:
    """What a `[[part]]` may say of a device of this class."""
    return tuple(
        name
        for name in attributes_of(KINDS[kind])
        if name not in OCCUPANCY and name not in PART_KEYS
    )


def _read_part(proof: Proofreader, path: KeyPath, table: Table, origin: str) -> PartDemand | None:
    proof.required(path, table, "class", "name", "weight")
    weight = read_word(proof, path, table, "weight", WEIGHTS)
    mismatch = read_word(proof, path, table, "on_mismatch", MISMATCHES)
    texts = {key: read_line(proof, path, table, key) for key in ("name", "connection", "source")}
    kind = read_word(proof, path, table, "class", tuple(KINDS))
    if not kind:
        return None
    proof.known_keys(path, table, (*PART_KEYS, *part_attributes(kind)))
    wanted = tuple(_read_wanted(proof, path, table, kind))
    bus_ids = _read_bus_ids(proof, path, table, kind)
    if not weight:
        return None
    return PartDemand(
        kind=kind,
        name=texts["name"],
        weight=Weight(weight),
        wanted=wanted,
        connection=texts["connection"],
        bus_ids=bus_ids,
        origin=f"{origin} ({texts['source']})" if texts["source"] else origin,
        review_only=mismatch == "review",
        external_counts=kind in OUTSIDE_BY_NATURE,
        names_all=True,
    )


def _read_bus_ids(proof: Proofreader, path: KeyPath, table: Table, kind: str) -> tuple[str, ...]:
    if BUS_IDS in table and kind in BUS_CLASSES:
        proof.note((*path, BUS_IDS), f"a {kind} is told by its ids = ...; leave this out")
        return ()
    return read_bus_ids(proof, path, table, kind)


def _read_wanted(
    proof: Proofreader, path: KeyPath, table: Table, kind: str
) -> Iterator[tuple[str, Demand]]:
    """In the order in which the model lists the attributes, so that the file's does not matter."""
    for name in part_attributes(kind):
        if name in table:
            demand = _read_demand(proof, (*path, name), table[name], (kind, name))
            if demand is not None:
                yield name, demand


def _read_demand(
    proof: Proofreader, path: KeyPath, asked: object, target: tuple[str, str]
) -> Demand | None:
    if not is_table(asked):
        value = read_scalar(proof, path, asked, target)
        return None if value is None else Equals(value=value)
    proof.known_keys(path, asked, WANTED_DEMANDS)
    given = [key for key in asked if key in WANTED_DEMANDS]
    if not given:
        proof.note(path, f"nothing is demanded; give one of: {list_words(WANTED_DEMANDS)}")
        return None
    if len(given) > 1 and frozenset(given) not in PAIRED_DEMANDS:
        proof.note(path, f"one demand each; this has {list_words(given)}, which is too many")
        return None
    kind, name = target
    return read_value_demand(proof, path, {**asked, "attribute": name}, kind, given)
