"""Profile and order together: every demand once, nothing lost."""

import random
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.expect.merge import covers, expectations_of, implies, without_implied
from closeout.expect.order_file import parse_work_order
from closeout.expect.profile import Profile, parse_profile
from closeout.expect.repair_map import load_repair_map
from closeout.expect.work_order import WorkOrder
from closeout.model.expectation import (
    Demand,
    Empty,
    Equals,
    Expectation,
    Filled,
    MatchesOrder,
    NewerOrEqual,
    OneOf,
    Pattern,
    Present,
    Weight,
    Within,
)
from strategies.profiles import as_toml, profiles, work_orders

PROFILE = """profile = 1
id = "a/b"
revision = "1"
title = "A B"
[[demand]]
class = "system"
attribute = "serial"
filled = true
weight = "must"
[[demand]]
class = "system"
attribute = "sku"
matches_order = true
weight = "should"
[[demand]]
class = "system"
attribute = "uuid"
matches_order = true
weight = "must"
[[demand]]
class = "battery"
present = true
weight = "must"
part = "pack"
connection = "plug J4"
[[demand]]
class = "drive"
present = true
weight = "must"
[[demand]]
class = "drive"
attribute = "model"
filled = true
weight = "note"
"""
ORDER = """work_order = 1
order = "RX-1"
[unit]
serial = "S"
sku = "K"
[[fitted]]
class = "battery"
[[not_present]]
class = "drive"
reason = "kept"
"""


def profile(text: str = PROFILE) -> Profile:
    outcome = parse_profile("p", text.encode())
    assert isinstance(outcome, Profile), outcome.show()
    return outcome


def order(text: str = ORDER) -> WorkOrder:
    outcome = parse_work_order("o", text.encode())
    assert isinstance(outcome, WorkOrder), outcome.show()
    return outcome


def test_without_an_order_the_profile_stands() -> None:
    assert expectations_of(profile(), None) == profile().expectations


def test_what_is_never_inside_is_not_expected_to_be_gone() -> None:
    """An adapter that the unit came without may lie on the bench all the same."""
    without = ORDER.replace('class = "drive"\nreason', 'class = "adapter"\nreason')
    assert not [one for one in expectations_of(profile(), order(without)) if one.kind == "adapter"]


def test_order_and_profile_become_one_list() -> None:
    found = [
        (one.rule, one.demand, one.weight.value) for one in expectations_of(profile(), order())
    ]
    assert found == [
        ("system.serial", Equals(value="S"), "must"),
        ("system.uuid", MatchesOrder(value=None), "must"),
        ("system.sku", Equals(value="K"), "must"),
        ("drive.presence", Present(at_least=0, at_most=0), "note"),
    ]


@pytest.mark.parametrize(
    ("counted", "is_left_out"),
    [
        ('present = true\nweight = "must"', True),
        ('devices_at_least = 2\nweight = "must"', True),
        ('devices_at_least = 2\nweight = "should"', True),
        ('devices_at_least = 3\nweight = "must"', False),
        ('devices_at_least = 1\ndevices_at_most = 2\nweight = "must"', False),
        ('devices_at_most = 2\nweight = "must"', False),
        ('present = true\nexternal_counts = true\nweight = "must"', False),
        ('present = true\nwhere = { bus = "nvme" }\nweight = "must"', False),
        ('attribute = "model"\nfilled = true\nweight = "must"', False),
    ],
)
def test_devices_that_parts_demand_are_not_counted_too(counted: str, *, is_left_out: bool) -> None:
    part = '[[part]]\nclass = "drive"\nname = "drive"\nweight = "must"\n'
    demand = f'[[demand]]\nclass = "drive"\n{counted}\n'
    head = 'profile = 1\nid = "a/b"\nrevision = "1"\ntitle = "A B"\n'
    with_parts = profile(head + demand + part + part)
    assert (expectations_of(with_parts, None) == ()) is is_left_out
    an_order = order('work_order = 1\norder = "RX-1"\n')
    assert (expectations_of(with_parts, an_order) == ()) is is_left_out


def test_devices_that_should_be_there_do_not_stand_for_those_that_must() -> None:
    head = 'profile = 1\nid = "a/b"\nrevision = "1"\ntitle = "A B"\n'
    part = '[[part]]\nclass = "drive"\nname = "drive"\nweight = "should"\n'
    demand = '[[demand]]\nclass = "drive"\npresent = true\nweight = "must"\n'
    assert len(expectations_of(profile(head + demand + part), None)) == 1


def test_what_is_not_there_is_looked_for_and_only_noted() -> None:
    (drive,) = [one for one in expectations_of(profile(), order()) if one.kind == "drive"]
    assert drive.review_only
    assert "kept" in drive.origin


IMPLIED: list[tuple[Demand, Demand, bool]] = [
    (Equals(value="A"), Filled(), True),
    (Filled(), Equals(value="A"), False),
    (Equals(value="A"), OneOf(values=("A", "B")), True),
    (OneOf(values=("A", "B")), Equals(value="A"), False),
    (OneOf(values=("A",)), OneOf(values=("A", "B")), True),
    (Equals(value="AB"), Pattern(pattern="A."), True),
    (Equals(value="B"), Pattern(pattern="A."), False),
    (Equals(value="A"), MatchesOrder(value="A"), True),
    (Equals(value="A"), MatchesOrder(value=None), False),
    (MatchesOrder(value=None), Filled(), False),
    (MatchesOrder(value="A"), Filled(), True),
    (Within(low=5, high=6), Within(low=4, high=None), True),
    (Within(low=3, high=6), Within(low=4, high=None), False),
    (Within(low=5, high=None), Within(low=5, high=9), False),
    (Equals(value=5), Within(low=4, high=None), True),
    (Equals(value=3), Within(low=4, high=None), False),
    (Present(at_least=2, at_most=None), Present(at_least=1, at_most=None), True),
    (Present(at_least=1, at_most=None), Present(at_least=1, at_most=2), False),
    (Present(at_least=0, at_most=0), Present(at_least=0, at_most=1), True),
    (Empty(), Filled(), False),
    (NewerOrEqual(version="2"), Filled(), True),
    (NewerOrEqual(version="2"), NewerOrEqual(version="1"), False),
]


@pytest.mark.parametrize(("strong", "weak", "follows"), IMPLIED)
def test_what_follows_from_what(*, strong: Demand, weak: Demand, follows: bool) -> None:
    assert implies(strong, weak) is follows


def serial(demand: Demand, weight: Weight = Weight.MUST, *, review: bool = False) -> Expectation:
    return Expectation(
        kind="system",
        attribute="serial",
        demand=demand,
        weight=weight,
        where=(),
        review_only=review,
        external_counts=False,
        origin="",
    )


def test_weaker_demand_never_stands_for_a_stronger_one() -> None:
    filled = serial(Filled())
    assert covers(serial(Equals(value="A")), filled)
    assert not covers(serial(Equals(value="A"), Weight.SHOULD), filled)
    assert not covers(serial(Equals(value="A"), review=True), filled)
    assert not covers(replace(serial(Equals(value="A")), external_counts=True), filled)


def test_stronger_demand_that_comes_later_takes_the_place() -> None:
    names = {"part": "label", "connection": "lid", "bus_ids": ("NLTP0001",)}
    weak = replace(serial(Filled()), **names)
    strong = serial(Equals(value="A"))
    assert without_implied([weak, strong]) == [replace(strong, **names)]


@given(profiles(), work_orders(), st.randoms(use_true_random=False))
def test_nothing_is_lost_and_nothing_is_said_twice(
    profile_tree: dict[str, Any], order_tree: dict[str, Any], chance: random.Random
) -> None:
    a_profile = profile(as_toml(profile_tree).decode())
    an_order = order(as_toml(order_tree).decode())
    merged = expectations_of(a_profile, an_order)
    missing = an_order.missing
    named = {part.kind for part in (*a_profile.parts, *an_order.parts)}
    for demand in (*an_order.expectations, *a_profile.expectations):
        if demand.kind in missing or isinstance(demand.demand, MatchesOrder):
            continue
        if isinstance(demand.demand, Present) and demand.kind in named:
            continue
        assert any(covers(kept, demand) for kept in merged)
    for one in merged:
        assert not any(covers(other, one) for other in merged if other is not one)
    shuffled = list(merged)
    chance.shuffle(shuffled)
    assert set(without_implied(shuffled)) == set(merged)


@pytest.mark.parametrize(
    ("facts", "is_asked"),
    [
        ("", True),
        ('[encryption]\nstate = "used"\n', True),
        ('[encryption]\nstate = "used"\nrecovery_key_confirmed = false\n', True),
        ('[encryption]\nstate = "used"\nrecovery_key_confirmed = true\n', False),
        ('[encryption]\nstate = "none"\n', False),
    ],
)
def test_the_recovery_key_is_asked_for_unless_the_order_has_the_answer(
    facts: str, *, is_asked: bool
) -> None:
    said = order('work_order = 1\norder = "RX-1"\n' + facts)
    repair_map = load_repair_map()
    found = expectations_of(profile(), said, repair_map, ("system-board",))
    assert ("connection.recovery-key" in {one.rule for one in found}) is is_asked
    without = expectations_of(profile(), None, repair_map, ("system-board",))
    assert "connection.recovery-key" in {one.rule for one in without}


def test_what_the_customer_declined_is_a_note_that_says_so() -> None:
    declined = '[[declined]]\nclass = "battery"\nwhat = "a pack"\nreason = "good enough"\n'
    other = '[[declined]]\nwhat = "cleaning"\nreason = "does it"\n'
    said = order('work_order = 1\norder = "RX-1"\n' + other + declined)
    found = {one.rule: one for one in expectations_of(profile(), said)}
    pack, drive = found["battery.presence"], found["drive.presence"]
    assert pack.weight is Weight.NOTE
    assert pack.origin.endswith("; declined by the customer: good enough")
    assert drive.weight is Weight.MUST
