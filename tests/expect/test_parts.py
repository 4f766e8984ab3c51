"""The parts of profile and order together."""

import random
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.expect.order_file import parse_work_order
from closeout.expect.parts import parts_of
from closeout.expect.profile import Profile, parse_profile
from closeout.expect.work_order import WorkOrder
from closeout.model.expectation import Equals, Weight, Within
from closeout.model.frozen import replace
from closeout.model.part_demand import PartDemand
from strategies.profiles import as_toml, profiles, work_orders

GIB = 1 << 30
HEAD = """profile = 1
id = "a/b"
revision = "1"
title = "A B"
[[demand]]
class = "battery"
present = true
weight = "must"
part = "pack"
connection = "plug J4"
[[demand]]
class = "touchpad"
where = { bus = "i2c" }
present = true
weight = "must"
part = "touchpad"
"""
SLOTS = "".join(
    f"""[[part]]
class = "memory_module"
name = "memory module in slot {number}"
weight = "must"
connection = "socket {number}"
locator = "SLOT {number}"
size_bytes = {{ at_least = 8589934592 }}
"""
    for number in (1, 2)
)
DRIVE = """[[part]]
class = "drive"
name = "drive"
weight = "must"
connection = "M.2 socket"
bus = "nvme"
"""


def profile(text: str = SLOTS) -> Profile:
    outcome = parse_profile("p", (HEAD + text).encode())
    assert isinstance(outcome, Profile), outcome.show()
    return outcome


def order(text: str) -> WorkOrder:
    outcome = parse_work_order("o", f'work_order = 1\norder = "RX-1"\n{text}'.encode())
    assert isinstance(outcome, WorkOrder), outcome.show()
    return outcome


def fitted(kind: str, **said: object) -> str:
    lines = "".join(f"{key} = {value!r}\n" for key, value in said.items())
    return f"[[fitted]]\nclass = '{kind}'\n{lines}"


def joined(text: str, model: str = SLOTS) -> tuple[PartDemand, ...]:
    return parts_of(profile(model), order(text))


def test_without_an_order_the_profile_stands() -> None:
    assert parts_of(profile(), None) == profile().parts
    assert parts_of(profile(""), None) == ()


def test_a_part_fitted_in_a_place_of_the_profile_is_one_with_its() -> None:
    first, second = joined(fitted("memory_module", locator="SLOT 2", size_bytes=16 * GIB))
    assert first == profile().parts[0]
    assert second == replace(
        profile().parts[1],
        wanted=(("locator", Equals(value="SLOT 2")), ("size_bytes", Equals(value=16 * GIB))),
        origin="work order RX-1, profile a/b",
    )


def test_what_the_profile_asks_beyond_the_order_is_asked_still() -> None:
    _, second = joined(fitted("memory_module", locator="SLOT 2", size_bytes=4 * GIB))
    assert second.wanted == (
        ("locator", Equals(value="SLOT 2")),
        ("size_bytes", Equals(value=4 * GIB)),
        ("size_bytes", Within(low=8 * GIB, high=None)),
    )


@pytest.mark.parametrize(
    "text",
    [
        fitted("memory_module", size_bytes=16 * GIB),
        fitted("memory_module", locator="SLOT 3"),
        fitted("memory_module", locator="SLOT 1") + fitted("memory_module", serial="S"),
    ],
)
def test_where_nothing_tells_which_part_was_fitted_each_file_stands_alone(text: str) -> None:
    parts = joined(text)
    assert {part for part in parts if part.names_all} == set(profile().parts)
    assert {part.origin for part in parts if not part.names_all} == {"work order RX-1"}
    assert len(parts) == 2 + text.count("[[fitted]]")


def test_a_part_that_counts_less_is_not_made_to_count_more() -> None:
    soft = SLOTS.replace('"must"', '"should"')
    parts = joined(fitted("memory_module", locator="SLOT 2"), soft)
    assert [part.weight.value for part in parts] == ["must", "should", "should"]


def test_a_fitted_part_is_called_as_the_profile_calls_the_only_one() -> None:
    ours, theirs = joined(fitted("drive", serial="S"), DRIVE)
    assert (ours.connection, theirs.connection) == ("M.2 socket", "M.2 socket")
    assert (ours.name, theirs.name) == ("drive", "drive")
    (battery,) = joined(fitted("battery"), "")
    assert (battery.name, battery.connection) == ("pack", "plug J4")


def test_a_name_for_some_of_a_class_is_not_the_name_of_a_fitted_part() -> None:
    (touchpad,) = joined(fitted("touchpad"), "")
    assert (touchpad.name, touchpad.connection) == ("fitted touchpad", "")
    (module,) = (part for part in joined(fitted("memory_module")) if not part.names_all)
    assert (module.name, module.connection) == ("fitted memory module", "")


def test_parts_of_a_class_that_is_not_present_are_left_out() -> None:
    gone = '[[not_present]]\nclass = "memory_module"\nreason = "kept"\n'
    assert joined(gone) == ()


@given(profiles(), work_orders(), st.randoms(use_true_random=False))
def test_nothing_is_lost_and_the_order_of_the_tables_does_not_matter(
    profile_tree: dict[str, Any], order_tree: dict[str, Any], chance: random.Random
) -> None:
    def both() -> tuple[Profile, WorkOrder]:
        mine = parse_profile("p", as_toml(profile_tree))
        theirs = parse_work_order("o", as_toml(order_tree))
        assert isinstance(mine, Profile)
        assert isinstance(theirs, WorkOrder)
        return mine, theirs

    mine, theirs = both()
    found = parts_of(mine, theirs)
    missing = theirs.missing
    kept = [part for part in mine.parts if part.kind not in missing]
    assert len(found) == len(kept) + len(theirs.parts)
    for tree in (profile_tree.get("part", []), order_tree["fitted"]):
        chance.shuffle(tree)
    assert parts_of(*both()) == found


def test_a_part_that_the_customer_declined_holds_nothing() -> None:
    declined = '[[declined]]\nclass = "memory_module"\nwhat = "memory"\nreason = "enough"\n'
    parts = parts_of(profile(), order(declined))
    assert parts
    assert {part.weight for part in parts} == {Weight.NOTE}
    assert all(part.origin.endswith("; declined by the customer: enough") for part in parts)
