"""Profile and work order together: the demands of one run."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from typing import Final, TypeVar

from closeout.expect.contradiction import allows, values_of
from closeout.expect.profile import Profile
from closeout.expect.sequence import in_order
from closeout.expect.vocabulary import OUTSIDE_BY_NATURE
from closeout.expect.work_order import WorkOrder
from closeout.model.expectation import (
    Demand,
    Empty,
    Expectation,
    Filled,
    MatchesOrder,
    Present,
    Weight,
    Within,
)
from closeout.model.frozen import replace
from closeout.model.handling import OrderFacts
from closeout.model.part_demand import PartDemand
from closeout.model.repair_map import RepairMap

Demanded = TypeVar("Demanded", Expectation, PartDemand)

_WEIGHTS = tuple(Weight)
RECOVERY_KEY: Final = "recovery-key"
"""The connection of the repair map that asks for the recovery key of an encrypted disk."""


def expectations_of(
    profile: Profile,
    order: WorkOrder | None,
    repair_map: RepairMap | None = None,
    repairs: Collection[str] = (),
) -> tuple[Expectation, ...]:
    """What is demanded of the unit, each demand once.

    What the repairs disturbed is demanded and asked as the map says. The order's values go into
    the profile's `matches_order` demands. What the profile demands of a class that the order says
    is not present is left out, and that it is indeed not there becomes a note. A demand that
    follows from another on the same devices, which counts at least as much, is left out: a serial
    number that must be the order's need not also be filled, and where two parts are named, each of
    which must be there, two need not also be counted.
    """
    missing = order.missing if order else frozenset[str]()
    disturbed = list(_disturbed(profile, order, repair_map, repairs, missing)) if repair_map else []
    if order is None:
        from_profile = _unless_parts([*profile.expectations, *disturbed], profile.parts)
        return in_order(without_implied(from_profile))
    from_profile = [
        _with_order(expectation, order)
        for expectation in profile.expectations
        if expectation.kind not in missing
    ]
    of_repair_and_model = [
        unless_declined(expectation, order) for expectation in (*from_profile, *disturbed)
    ]
    parts = [unless_declined(part, order) for part in profile.parts if part.kind not in missing]
    demanded = _unless_parts(_unless_parts(of_repair_and_model, parts), order.parts)
    return in_order(without_implied([*order.expectations, *demanded, *_expect_gaps(order)]))


def _disturbed(
    profile: Profile,
    order: WorkOrder | None,
    repair_map: RepairMap,
    repairs: Collection[str],
    missing: Collection[str],
) -> Iterator[Expectation]:
    """What the map demands and asks, but where model or order have the answer."""
    from closeout.expect.repair_demands import (  # noqa: PLC0415 - only after a repair
        demands_of_repairs,
    )

    lacks = (*profile.lacks, *(_needs_no_key(order.facts) if order else ()))
    return demands_of_repairs(repair_map, repairs, lacks, missing, profile.keyboard_layout)


def _needs_no_key(facts: OrderFacts) -> tuple[str, ...]:
    """The question after the recovery key, where the order has answered it."""
    is_settled = facts.encryption == "none" or facts.recovery_key == "confirmed"
    return (RECOVERY_KEY,) if is_settled else ()


def without_implied(expectations: Iterable[Expectation]) -> list[Expectation]:
    """The demands that follow from no other; of two that say the same the first stays.

    What one that goes knows of part and connection is handed to the one that makes it needless.
    """
    about: dict[tuple[str, str], list[Expectation]] = {}
    for expectation in expectations:
        about.setdefault((expectation.kind, expectation.attribute), []).append(expectation)
    return [kept for alike in about.values() for kept in _without_implied(alike)]


def _without_implied(expectations: Iterable[Expectation]) -> list[Expectation]:
    """The same for demands on one attribute, or on the presence, of one class."""
    kept: list[Expectation] = []
    for candidate in expectations:
        above = next((at for at, other in enumerate(kept) if covers(other, candidate)), None)
        if above is not None:
            kept[above] = _with_names(kept[above], candidate)
            continue
        covered = [other for other in kept if covers(candidate, other)]
        kept = [other for other in kept if other not in covered]
        for other in covered:
            candidate = _with_names(candidate, other)  # noqa: PLW2901 - gathers names on its way in
        kept.append(candidate)
    return kept


def covers(strong: Expectation, weak: Expectation) -> bool:
    """Whether a unit that meets `strong` needs no look at `weak`, which counts no more."""
    return (
        (strong.kind, strong.attribute) == (weak.kind, weak.attribute)
        and strong.external_counts == weak.external_counts
        and _is_about_as_many(strong, weak)
        and _WEIGHTS.index(strong.weight) <= _WEIGHTS.index(weak.weight)
        and (weak.review_only or not strong.review_only)
        and implies(strong.demand, weak.demand)
    )


def _is_about_as_many(strong: Expectation, weak: Expectation) -> bool:
    """On the same devices; or at least so many are wanted, and of a narrower sort are enough."""
    if strong.where == weak.where:
        return True
    is_least = isinstance(weak.demand, Present) and weak.demand.at_most is None
    return is_least and set(weak.where) <= set(strong.where)


def implies(strong: Demand, weak: Demand) -> bool:
    """Whether everything that meets `strong` meets `weak`; False where it cannot be told."""
    if strong == weak:
        return True
    match strong, weak:
        case Present(), Present():
            more = strong.at_least >= weak.at_least
            return more and _is_below(strong.at_most, weak.at_most)
        case Within(), Within():
            above = weak.low is None or (strong.low is not None and strong.low >= weak.low)
            return above and _is_below(strong.high, weak.high)
        case MatchesOrder(value=None), _:
            return False
        case _, Filled():
            return not isinstance(strong, Present | Empty)
        case _:
            values = values_of(strong)
            return bool(values) and all(allows(weak, value) for value in values)


def _is_below(strong: int | None, weak: int | None) -> bool:
    return weak is None or (strong is not None and strong <= weak)


def _unless_parts(
    expectations: Iterable[Expectation], parts: Collection[PartDemand]
) -> list[Expectation]:
    """The demands but those for devices of a class as many of which the parts demand anyway."""
    return [one for one in expectations if not _is_met_by_parts(one, parts)]


def _is_met_by_parts(expectation: Expectation, parts: Collection[PartDemand]) -> bool:
    if not isinstance(expectation.demand, Present) or expectation.demand.at_most is not None:
        return False
    wanted = (replace(part.presence, demand=expectation.demand) for part in parts)
    alike = sum(covers(presence, expectation) for presence in wanted)
    return 0 < expectation.demand.at_least <= alike


def _with_names(kept: Expectation, gone: Expectation) -> Expectation:
    return replace(
        kept,
        part=kept.part or gone.part,
        connection=kept.connection or gone.connection,
        bus_ids=kept.bus_ids or gone.bus_ids,
    )


def _with_order(expectation: Expectation, order: WorkOrder) -> Expectation:
    if not isinstance(expectation.demand, MatchesOrder):
        return expectation
    value = order.unit.get((expectation.kind, expectation.attribute))
    return replace(expectation, demand=MatchesOrder(value=value))


def unless_declined(demanded: Demanded, order: WorkOrder) -> Demanded:
    """What the customer declined to have repaired is told, and holds nothing."""
    for declined in order.declined:
        if declined.kind == demanded.kind:
            origin = f"{demanded.origin}; declined by the customer: {declined.reason}"
            return replace(demanded, weight=Weight.NOTE, origin=origin)
    return demanded


def _expect_gaps(order: WorkOrder) -> Iterator[Expectation]:
    """That what the order says is not present is not there: a test drive left behind, say."""
    for gap in order.facts.not_present:
        if gap.what not in OUTSIDE_BY_NATURE:
            yield Expectation(
                kind=gap.what,
                attribute="",
                demand=Present(at_least=0, at_most=0),
                weight=Weight.NOTE,
                where=(),
                review_only=True,
                external_counts=False,
                origin=f"work order {order.order} (not present: {gap.reason})",
                part=f"{gap.what} (not present by the order)",
            )
