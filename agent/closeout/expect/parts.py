"""Profile and work order together: the parts that one run looks for."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from closeout.expect.merge import implies, unless_declined
from closeout.expect.part_demand import own_marks
from closeout.expect.profile import Profile
from closeout.expect.work_order import WorkOrder
from closeout.model.expectation import Expectation, Present
from closeout.model.frozen import replace
from closeout.model.part_demand import PLACES, PartDemand, Wanted


def parts_of(profile: Profile, order: WorkOrder | None) -> tuple[PartDemand, ...]:
    """The parts of the model and those that the order says were fitted, in one order.

    Parts of a class that the order says is not present are left out. Where each fitted part of a
    class sits in a place of which the profile has a part, the two are one. Otherwise nothing tells
    which of the profile's parts was fitted, so each file's parts are matched with all devices.
    """
    if order is None:
        return _in_order(profile.parts)
    of_model = [
        unless_declined(part, order) for part in profile.parts if part.kind not in order.missing
    ]
    found: list[PartDemand] = []
    for kind in sorted({part.kind for part in (*of_model, *order.parts)}):
        ours = [part for part in of_model if part.kind == kind]
        fitted = [part for part in order.parts if part.kind == kind]
        found += _join(ours, fitted) or [*ours, *(_with_names(part, profile) for part in fitted)]
    return _in_order(found)


def _in_order(parts: Iterable[PartDemand]) -> tuple[PartDemand, ...]:
    return tuple(sorted(parts, key=lambda part: (part.kind, part.name, repr(part))))


def _join(ours: Sequence[PartDemand], fitted: Sequence[PartDemand]) -> list[PartDemand]:
    """Each fitted part made one with the profile's; none where one of them has no partner."""
    joined = list(ours)
    for part in fitted:
        at = next((at for at, mine in enumerate(joined) if _is_same_place(mine, part)), None)
        if at is None:
            return []
        joined[at] = replace(
            joined[at],
            wanted=_all_wanted((*part.wanted, *joined[at].wanted)),
            origin=f"{part.origin}, {joined[at].origin}",
        )
    return joined


def _is_same_place(mine: PartDemand, fitted: PartDemand) -> bool:
    places = {mark for mark in own_marks(fitted) if mark[0] in PLACES}
    counts_alike = (mine.weight, mine.review_only) == (fitted.weight, fitted.review_only)
    return counts_alike and bool(places & own_marks(mine))


def _all_wanted(wanted: Sequence[Wanted]) -> tuple[Wanted, ...]:
    """What is wanted, without what follows from something else that is; the order's comes first."""
    kept: list[Wanted] = []
    for attribute, demand in dict.fromkeys(wanted):
        others = [other for name, other in kept if name == attribute]
        if not any(implies(other, demand) for other in others):
            kept = [
                (name, other)
                for name, other in kept
                if name != attribute or not implies(demand, other)
            ]
            kept.append((attribute, demand))
    return tuple(sorted(kept, key=repr))


def _with_names(part: PartDemand, profile: Profile) -> PartDemand:
    """The fitted part as the profile calls it, where it has but one name for the class."""
    named = {
        (mine.name, mine.connection, mine.bus_ids)
        for mine in profile.parts
        if mine.kind == part.kind
    } or {
        (demand.part, demand.connection, demand.bus_ids)
        for demand in profile.expectations
        if demand.kind == part.kind and _is_of_all(demand)
    }
    if len(named) != 1:
        return part
    ((name, connection, bus_ids),) = named
    return replace(part, name=name or part.name, connection=connection, bus_ids=bus_ids)


def _is_of_all(demand: Expectation) -> bool:
    return isinstance(demand.demand, Present) and not demand.where
