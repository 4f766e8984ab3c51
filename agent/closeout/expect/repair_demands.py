"""The repairs of a run and the repair map together: what they demand and what they ask."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from typing import Final

from closeout.model.expectation import CONNECTION, Asked, Expectation
from closeout.model.frozen import replace
from closeout.model.repair_map import Connection, RepairMap

LAYOUT: Final = "keyboard-layout"
"""The connection that is asked about where the profile names a layout."""


def demands_of_repairs(
    repair_map: RepairMap,
    repairs: Collection[str],
    lacks: Collection[str] = (),
    not_present: Collection[str] = (),
    layout: str = "",
) -> Iterator[Expectation]:
    """What the disturbed connections demand, and the questions that only a person can answer.

    `lacks` are connections that the model does not have; `not_present` are kinds that this unit
    came without. A connection whose every kind the unit came without asks nothing.
    """
    for connection in repair_map.disturbed_by(repairs):
        if connection.id in lacks or _is_gone(connection, not_present):
            continue
        if connection.id == LAYOUT and not layout:
            continue
        names = [name for name in repairs if connection.id in repair_map.repairs[name].disturbs]
        origin = f"repair map {repair_map.source.revision} ({', '.join(sorted(names))})"
        for demand in connection.demands:
            if demand.kind not in not_present:
                yield replace(demand, origin=origin)
        if connection.question:
            wanted = f"layout {layout}" if connection.id == LAYOUT else ""
            yield _ask(connection, origin, wanted)


def seconds_of(repair_map: RepairMap, expectations: Iterable[Expectation]) -> int:
    """How long the questions among these take in hands, by the map's estimate."""
    asked = [expectation for expectation in expectations if expectation.kind == CONNECTION]
    return sum(repair_map.connections[expectation.attribute].seconds for expectation in asked)


def _is_gone(connection: Connection, not_present: Collection[str]) -> bool:
    kinds = {demand.kind for demand in connection.demands}
    return bool(kinds) and kinds <= set(not_present)


def _ask(connection: Connection, origin: str, wanted: str) -> Expectation:
    return Expectation(
        kind=CONNECTION,
        attribute=connection.id,
        demand=Asked(wanted=wanted),
        weight=connection.weight,
        where=(),
        review_only=True,
        external_counts=False,
        origin=origin,
        part=connection.name,
        connection=connection.where,
    )
