"""One `[[demand]]` of a profile to one expectation."""

from __future__ import annotations

from typing import Final

from closeout.expect.mistake import KeyPath, list_words
from closeout.expect.proofreader import Proofreader
from closeout.expect.scalar import Table, read_scalar
from closeout.expect.value_demand import (
    TOLERANCES,
    read_bounds,
    read_value_demand,
    show_tolerance,
)
from closeout.expect.vocabulary import (
    BUS_CLASSES,
    BUS_ID_PATTERN,
    LONGEST_TEXT,
    MOST_PARTS,
    OCCUPANCY,
    OUTSIDE_BY_NATURE,
    PAIRED_DEMANDS,
    PRESENCE_DEMANDS,
    VALUE_DEMANDS,
)
from closeout.model.attribute import attributes_of
from closeout.model.expectation import Condition, Demand, Expectation, Present, Weight
from closeout.model.inventory import KINDS

OTHER_KEYS: Final = (
    "class",
    "attribute",
    "weight",
    "where",
    "on_mismatch",
    "external_counts",
    "part",
    "connection",
    "source",
    *TOLERANCES,
)
BUS_IDS: Final = "bus_ids"
DEMAND_KEYS: Final = (*OTHER_KEYS, BUS_IDS, *PRESENCE_DEMANDS, *VALUE_DEMANDS)
WEIGHTS: Final = tuple(weight.value for weight in Weight)
MISMATCHES: Final = ("fail", "review")


def read_demand(proof: Proofreader, path: KeyPath, table: Table, origin: str) -> Expectation | None:
    """The expectation of one demand, or None with every mistake in it noted."""
    proof.known_keys(path, table, DEMAND_KEYS)
    proof.required(path, table, "class", "weight")
    weight = read_word(proof, path, table, "weight", WEIGHTS)
    mismatch = read_word(proof, path, table, "on_mismatch", MISMATCHES)
    texts = {key: read_line(proof, path, table, key) for key in ("part", "connection", "source")}
    kind = read_word(proof, path, table, "class", tuple(KINDS))
    if not kind:
        return None
    where = read_where(proof, (*path, "where"), table.get("where", {}), kind)
    demand = _read_what(proof, path, table, kind)
    outside = _read_outside(proof, path, table, kind)
    bus_ids = read_bus_ids(proof, path, table, kind)
    if demand is None or not weight:
        return None
    return Expectation(
        kind=kind,
        attribute="" if isinstance(demand, Present) else str(table["attribute"]),
        demand=demand,
        weight=Weight(weight),
        where=where,
        review_only=mismatch == "review",
        external_counts=outside,
        origin=_name_origin(origin, texts["source"], show_tolerance(table)),
        part=texts["part"],
        connection=texts["connection"],
        bus_ids=bus_ids,
    )


def _name_origin(origin: str, *remarks: str) -> str:
    told = "; ".join(remark for remark in remarks if remark)
    return f"{origin} ({told})" if told else origin


def read_word(
    proof: Proofreader, path: KeyPath, table: Table, key: str, allowed: tuple[str, ...]
) -> str:
    """The word under an optional key; empty where it is not given or not allowed."""
    if key not in table:
        return ""
    return proof.choice((*path, key), table[key], allowed) or ""


def read_line(
    proof: Proofreader, path: KeyPath, table: Table, key: str, longest: int = LONGEST_TEXT
) -> str:
    """The free text under an optional key; empty where it is not given or not allowed."""
    if key not in table:
        return ""
    return proof.text((*path, key), table[key], longest) or ""


def read_where(
    proof: Proofreader, path: KeyPath, value: object, kind: str
) -> tuple[Condition, ...]:
    """The conditions on the devices of a class, in the order of the attribute names."""
    conditions: list[Condition] = []
    allowed = tuple(name for name in attributes_of(KINDS[kind]) if name not in OCCUPANCY)
    for name, wanted in proof.table(path, value).items():
        place = (*path, name)
        if name in OCCUPANCY:
            proof.note(place, "an empty bay takes no part in any demand; leave this out")
            continue
        if proof.choice(place, name, allowed) is None:
            continue
        scalar = read_scalar(proof, place, wanted, (kind, name))
        if scalar is not None:
            conditions.append(Condition(attribute=name, value=scalar))
    return tuple(sorted(conditions, key=lambda condition: condition.attribute))


def _read_outside(proof: Proofreader, path: KeyPath, table: Table, kind: str) -> bool:
    if "external_counts" not in table:
        return kind in OUTSIDE_BY_NATURE
    return proof.flag((*path, "external_counts"), table["external_counts"]) is True


def read_bus_ids(proof: Proofreader, path: KeyPath, table: Table, kind: str) -> tuple[str, ...]:
    """Ids by which a bus shows the part without a driver; only a demand for devices has them."""
    if BUS_IDS not in table:
        return ()
    place = (*path, BUS_IDS)
    if kind in BUS_CLASSES:
        proof.note(place, f"a {kind} is told by where = {{ ids = ... }}; leave this out")
    elif "attribute" in table:
        proof.note(place, "says how a missing part would show, so no attribute belongs here")
    named = proof.items(place, table[BUS_IDS], MOST_PARTS)
    rule = "an id as its bus writes it: PNP0C50, fe21:0007"
    return tuple(proof.matching(at, item, BUS_ID_PATTERN, rule) or "" for at, item in named)


def _read_what(proof: Proofreader, path: KeyPath, table: Table, kind: str) -> Demand | None:
    """What is demanded: devices, or something of their attribute."""
    given = [key for key in table if key in VALUE_DEMANDS or key in PRESENCE_DEMANDS]
    is_presence = "attribute" not in table
    wanted = PRESENCE_DEMANDS if is_presence else tuple(VALUE_DEMANDS)
    misplaced = [key for key in given if key not in wanted]
    for key in misplaced:
        proof.note((*path, key), _misplaced(key, wanted, is_presence=is_presence))
    for key in TOLERANCES:
        if key in table and (is_presence or "equals" not in given):
            proof.note((*path, key), "goes with equals, and with nothing else; leave it out")
    if misplaced or not _is_one_demand(proof, path, given, wanted):
        return None
    if is_presence:
        return _read_presence(proof, path, table)
    return read_value_demand(proof, path, table, kind, given)


def _misplaced(key: str, wanted: tuple[str, ...], *, is_presence: bool) -> str:
    if is_presence:
        return f"{key} is about an attribute, and none is named; without one: {list_words(wanted)}"
    return f"{key} counts devices, so no attribute belongs here; with one: {list_words(wanted)}"


def _is_one_demand(
    proof: Proofreader, path: KeyPath, given: list[str], wanted: tuple[str, ...]
) -> bool:
    if not given:
        proof.note(path, f"nothing is demanded; give one of: {list_words(wanted)}")
        return False
    if len(given) > 1 and frozenset(given) not in PAIRED_DEMANDS:
        proof.note(
            (*path, given[1]), f"one demand each; this has {list_words(given)}, which is too many"
        )
        return False
    return True


def _read_presence(proof: Proofreader, path: KeyPath, table: Table) -> Present | None:
    if "present" in table:
        is_wanted = proof.only_true((*path, "present"), table["present"])
        return Present(at_least=1, at_most=None) if is_wanted else None
    bounds = read_bounds(proof, path, table, "devices_at_least", "devices_at_most")
    if bounds is None:
        return None
    low, high = bounds
    if low == 0 and high is None:
        proof.note((*path, "devices_at_least"), "0 demands nothing; 1 is the least")
        return None
    return Present(at_least=low or 0, at_most=high)
