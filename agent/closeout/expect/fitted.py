"""Parts that the work order says were fitted, and what each of them demands of the unit.

A part is picked out by where it sits (`locator`, `connector`) or, failing that, by its serial
number or address. Such a device must be there, and each further attribute is demanded of it, so
that the report can say which of them differs. A part with neither is met by any device that has
everything the order gives; listed twice, two such devices must be there.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from typing import Final

from closeout.expect.demand import read_word
from closeout.expect.mistake import KeyPath
from closeout.expect.proofreader import Proofreader
from closeout.expect.scalar import Table, Target, read_label, read_measure
from closeout.expect.vocabulary import (
    FITTED_BATTERY_HEALTH,
    FITTED_CLASSES,
    MOST_PARTS,
    OCCUPANCY,
    OUTSIDE_BY_NATURE,
    PICKERS,
)
from closeout.model.attribute import Attribute, Shape, attributes_of
from closeout.model.expectation import (
    Condition,
    Demand,
    Equals,
    Expectation,
    Present,
    Scalar,
    Weight,
    Within,
)
from closeout.model.frozen import frozen
from closeout.model.inventory import KINDS

HEALTH: Final = "health_percent"
HEALTH_KEY: Final = "health_at_least"
HEALTH_MEASURE: Final = Attribute(meaning="", shape=Shape.INTEGER, unit="%", personal=False)


@frozen
class FittedPart:
    """A part by its class; `picks` tell it from others, `rest` is demanded of it besides."""

    kind: str
    picks: tuple[Condition, ...]
    rest: tuple[Condition, ...]
    health_at_least: int


def read_parts(proof: Proofreader, tree: Table) -> tuple[FittedPart, ...]:
    """The parts under `[[fitted]]`, with every mistake noted."""
    parts: dict[KeyPath, FittedPart] = {}
    for path, table in proof.tables(("fitted",), tree.get("fitted", []), MOST_PARTS):
        proof.required(path, table, "class")
        if kind := read_word(proof, path, table, "class", FITTED_CLASSES):
            part = _read_part(proof, path, table, kind)
            twin = next((place for place, other in parts.items() if _is_twin(part, other)), None)
            if twin is not None:
                line = proof.line(twin)
                proof.note(
                    path, f"this part is on line {line} already, with the same place or serial"
                )
            parts[path] = part
    return tuple(parts.values())


def expect_parts(parts: Iterable[FittedPart], origin: str) -> Iterator[Expectation]:
    """What the fitted parts demand, each a must."""
    picked = Counter((part.kind, part.picks) for part in parts)
    for (kind, picks), count in picked.items():
        yield must((kind, ""), Present(at_least=count, at_most=None), origin, picks)
    unlike = dict.fromkeys(parts)
    for part in unlike:
        for condition in part.rest:
            target = (part.kind, condition.attribute)
            yield must(target, Equals(value=condition.value), origin, part.picks)
        if part.health_at_least:
            demand = Within(low=part.health_at_least, high=None)
            yield must((part.kind, HEALTH), demand, origin, part.picks)


def must(
    target: Target, demand: Demand, origin: str, where: tuple[Condition, ...] = ()
) -> Expectation:
    """A demand of the order itself."""
    kind, attribute = target
    return Expectation(
        kind=kind,
        attribute=attribute,
        demand=demand,
        weight=Weight.MUST,
        where=where,
        review_only=False,
        external_counts=kind in OUTSIDE_BY_NATURE,
        origin=origin,
    )


def attributes_of_part(kind: str) -> tuple[str, ...]:
    """What an order may say of a part of this class."""
    return tuple(
        name for name in attributes_of(KINDS[kind]) if name not in OCCUPANCY and name != HEALTH
    )


def _read_part(proof: Proofreader, path: KeyPath, table: Table, kind: str) -> FittedPart:
    attributes = attributes_of_part(kind)
    others = ("class", HEALTH_KEY) if kind == "battery" else ("class",)
    proof.known_keys(path, table, (*others, *attributes))
    values: Mapping[str, Scalar | None] = {
        name: read_label(proof, (*path, name), table[name], (kind, name))
        for name in attributes
        if name in table
    }
    given = [
        Condition(attribute=name, value=value)
        for name, value in values.items()
        if value is not None
    ]
    picks = _picks(kind, given)
    return FittedPart(
        kind=kind,
        picks=picks or tuple(given),
        rest=tuple(condition for condition in given if condition not in picks) if picks else (),
        health_at_least=_read_health(proof, path, table, kind),
    )


def _picks(kind: str, given: list[Condition]) -> tuple[Condition, ...]:
    for name in PICKERS.get(kind, ("serial",)):
        for condition in given:
            if condition.attribute == name:
                return (condition,)
    return ()


def _read_health(proof: Proofreader, path: KeyPath, table: Table, kind: str) -> int:
    if kind != "battery":
        return 0
    if HEALTH_KEY not in table:
        return FITTED_BATTERY_HEALTH
    value = read_measure(proof, (*path, HEALTH_KEY), table[HEALTH_KEY], HEALTH_MEASURE)
    return FITTED_BATTERY_HEALTH if value is None else value


def _is_twin(part: FittedPart, other: FittedPart) -> bool:
    """Picked by the same place or serial number, which only one part can have."""
    names = PICKERS.get(part.kind, ("serial",))
    is_picked = any(condition.attribute in names for condition in part.picks)
    return is_picked and (part.kind, part.picks) == (other.kind, other.picks)
