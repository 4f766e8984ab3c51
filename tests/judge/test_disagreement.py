"""What it costs that a device is a part: each step of the order that the docstring gives."""

from itertools import pairwise

import pytest

from closeout.judge.disagreement import cost_of_none, cost_of_wrong, disagreement
from closeout.model.device import Position
from closeout.model.expectation import Weight, Within
from closeout.model.frozen import replace
from closeout.model.part_demand import PartDemand
from strategies.demands import part
from strategies.devices import BLANK, DENIED, NOT_DRAWN, device

GIB = 1 << 30
SLOT = part("memory_module", "m", locator="SLOT 2", size_bytes=16 * GIB, memory_type="DDR4")
ALL = {"locator": "SLOT 2", "size_bytes": 16 * GIB, "memory_type": "DDR4", "fitted": True}


def cost(wanted: PartDemand = SLOT, position: Position = Position.INTERNAL, **said: object) -> int:
    told = {**ALL, **said}
    return disagreement(wanted, device(wanted.kind, "slot/0", position, **told))


def test_from_agreement_to_another_sort_of_part() -> None:
    steps = [
        cost(),
        cost(size_bytes=DENIED),
        cost(size_bytes=DENIED, memory_type=NOT_DRAWN),
        cost(position=Position.UNREAD),
        cost(size_bytes=8 * GIB),
        cost(size_bytes=8 * GIB, memory_type=DENIED),
        cost(size_bytes=8 * GIB, memory_type="DDR5"),
        cost(locator="SLOT 1"),
        cost(locator="SLOT 1", size_bytes=8 * GIB),
        cost_of_none(SLOT),
        cost(locator="SLOT 1", size_bytes=8 * GIB, memory_type="DDR5"),
    ]
    assert steps == sorted(set(steps))
    assert steps[0] == 0


@pytest.mark.parametrize("told", [{"fitted": False}, {"position": Position.EXTERNAL}])
def test_what_cannot_be_the_part_costs_more_than_none(told: dict[str, object]) -> None:
    assert cost(**told) == cost_of_wrong(SLOT) > cost_of_none(SLOT)  # type: ignore[arg-type]


def test_blank_differs_and_absent_is_not_known() -> None:
    assert cost(memory_type=BLANK) == cost(memory_type="DDR5")
    assert cost(memory_type=NOT_DRAWN) == cost(memory_type=DENIED)


@pytest.mark.parametrize("attribute", ["size_bytes", "locator", "serial"])
def test_no_single_difference_costs_as_much_as_none(attribute: str) -> None:
    value: object = 1 if attribute == "size_bytes" else "other"
    for more in ({}, {"memory_type": "DDR4"}, {"rank": 1, "technology": "DRAM"}):
        wanted = part("memory_module", "m", **{attribute: value, **more})
        found = device("memory_module", **{"fitted": True, **more, attribute: BLANK})
        assert 0 < disagreement(wanted, found) < cost_of_none(wanted)


def test_a_part_of_which_nothing_is_wanted_takes_any_device() -> None:
    wanted = part("touchpad", "touchpad")
    assert disagreement(wanted, device("touchpad", driver="drawn")) == 0
    unsure = device("touchpad", "a", Position.UNREAD, driver="drawn")
    assert 0 < disagreement(wanted, unsure) < cost_of_none(wanted)


def test_wear_tells_two_packs_apart_and_makes_none_of_them_another_sort() -> None:
    wanted = part("battery", "pack", serial="S1", health_percent=Within(low=95, high=None))
    new, worn, other = (
        disagreement(wanted, device("battery", present=True, serial=serial, health_percent=health))
        for serial, health in (("S1", 99), ("S1", 60), ("S2", 60))
    )
    assert new == 0 < worn < other < cost_of_none(wanted)
    bare = replace(wanted, wanted=wanted.wanted[1:])
    worn = disagreement(bare, device("battery", present=True, health_percent=1))
    assert 0 < worn < cost_of_none(bare)


def test_one_thing_that_can_hold_the_unit_outweighs_all_that_cannot() -> None:
    levels = [
        replace(SLOT, weight=Weight.NOTE),
        replace(SLOT, weight=Weight.SHOULD),
        replace(SLOT, review_only=True),
        SLOT,
    ]
    for low, high in pairwise(levels):
        assert 1000 * cost_of_wrong(low) < cost(wanted=high, size_bytes=DENIED)
