"""Which values of two units collide, and which were moved by an order."""

from random import Random
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.depot.across.moves import Sighting, Work, judge_meeting
from closeout.model.handling import PartChange

DAY = 86_400
KINDS = ("serial", "uuid", "board", "mac", "licence", "drive", "pack")


def seen(unit: str, day: int, **told: object) -> Sighting:
    known: dict[str, Any] = {
        "kind": "drive",
        "value": "D1",
        "board": f"board of {unit}",
        "order": f"{unit}/{day}",
        "station": "bench 1",
        "first": day * DAY,
        "last": day * DAY + 60,
        "reports": 1,
        "digest": "0" * 64,
    }
    return Sighting(unit=f"label {unit}", **{**known, **told})


def work(unit: str, day: int, *parts: PartChange, swaps: bool = False) -> Work:
    return Work(
        unit=f"label {unit}",
        order=f"{unit}/{day}",
        first=day * DAY,
        replaces_board=swaps,
        parts=parts,
    )


def part(kind: str, serial: str = "", *, fitted: bool = True) -> PartChange:
    return PartChange(kind=kind, is_fitted=fitted, part_number="", serial=serial)


@pytest.mark.parametrize("kind", KINDS)
def test_a_value_on_two_units_without_work_on_parts_clashes(kind: str) -> None:
    sightings = [seen("A", 1, kind=kind), seen("B", 9, kind=kind)]
    meeting = judge_meeting(sightings, [work("A", 1, part("fan")), work("B", 9, part("fan"))])
    assert meeting
    assert meeting.is_clash
    assert [turn.reason for turn in meeting.turns] == [""]


@pytest.mark.parametrize(
    ("kind", "works"),
    [
        ("drive", [work("B", 9, part("drive"))]),
        ("drive", [work("B", 9, part("drive", "d1"))]),
        ("drive", [work("A", 5, part("drive", fitted=False))]),
        ("drive", [work("A", 1, part("drive", fitted=False))]),  # the order it was seen in
        ("drive", [work("B", 9, part("pci_device", "D1"))]),
        ("pack", [work("B", 9, part("battery"))]),
        ("mac", [work("B", 9, part("wifi"))]),
        ("board", [work("B", 9, swaps=True)]),
        ("uuid", [work("A", 5, swaps=True)]),
        ("licence", [work("B", 9, part("board"))]),
    ],
)
def test_work_on_such_a_part_explains_it(kind: str, works: list[Work]) -> None:
    meeting = judge_meeting([seen("A", 1, kind=kind), seen("B", 9, kind=kind)], works)
    assert meeting
    assert not meeting.is_clash
    assert works[0].order in meeting.turns[0].reason


@pytest.mark.parametrize(
    "works",
    [
        [work("B", 9, part("drive", "D2"))],  # another drive
        [work("B", 20, part("drive"))],  # too late
        [work("A", 0, part("drive", fitted=False))],  # before it was seen there
        [work("B", 9, part("drive", fitted=False))],  # the wrong way
        [work("A", 5, part("drive"))],
        [work("C", 9, part("drive"))],  # of another unit
        [work("B", 9, swaps=True)],  # a board brings no drive
    ],
)
def test_other_work_explains_nothing(works: list[Work]) -> None:
    meeting = judge_meeting([seen("A", 1), seen("B", 9)], works)
    assert meeting
    assert meeting.is_clash


def test_a_pack_is_known_by_the_serial_at_its_end() -> None:
    told = {"kind": "pack", "value": "MAKER/MODEL/P7"}
    sightings = [seen("A", 1, **told), seen("B", 9, **told)]
    fitted = judge_meeting(sightings, [work("B", 9, part("battery", "p7"))])
    other = judge_meeting(sightings, [work("B", 9, part("battery", "P8"))])
    assert fitted
    assert other
    assert (fitted.is_clash, other.is_clash) == (False, True)


def test_a_copied_value_needs_an_order_for_each_turn() -> None:
    """It went over to B with an order, and is on A again without one: there are two of it."""
    sightings = [seen("A", 1), seen("B", 9), seen("A", 12)]
    meeting = judge_meeting(sightings, [work("B", 9, part("drive"))])
    assert meeting
    assert meeting.is_clash
    assert [bool(turn.reason) for turn in meeting.turns] == [True, False]


def test_units_that_show_it_at_the_same_time_clash_both_ways() -> None:
    first = seen("A", 1, last=20 * DAY)
    meeting = judge_meeting([first, seen("B", 9)], [])
    assert meeting
    assert len(meeting.turns) == 2


def test_a_return_of_the_same_unit_is_no_meeting() -> None:
    assert judge_meeting([seen("A", 1), seen("A", 30)], []) is None


def test_a_board_without_a_label_is_its_labelled_unit() -> None:
    nameless = Sighting(**{**seen("A", 9).__dict__, "unit": "board of A"})
    sightings = [seen("A", 1), nameless]
    assert judge_meeting(sightings, []) is None


@pytest.mark.parametrize("unit", ["order 17", "report 00ff"])
def test_a_unit_that_nobody_told_is_held_against_none(unit: str) -> None:
    nameless = Sighting(**{**seen("B", 9).__dict__, "unit": unit})
    assert judge_meeting([seen("A", 1), nameless], []) is None


@pytest.mark.parametrize(("swaps", "is_clash"), [(True, False), (False, True)])
def test_a_label_changes_its_board_by_an_order_alone(swaps: bool, is_clash: bool) -> None:  # noqa: FBT001
    old = seen("A", 1, kind="label", value="A", board="old")
    new = seen("A", 9, kind="label", value="A", board="new")
    meeting = judge_meeting([old, new], [work("A", 1), work("A", 9, swaps=swaps)])
    assert meeting
    assert meeting.is_clash is is_clash


units = st.sampled_from(("A", "B", "C"))
sighted = st.lists(st.tuples(units, st.integers(1, 30)), min_size=2, max_size=6, unique=True)


@given(sighted, st.sampled_from(KINDS), st.randoms(use_true_random=False))
def test_no_order_of_the_rows_changes_what_is_said(
    told: list[tuple[str, int]], kind: str, random: Random
) -> None:
    sightings = [seen(unit, day, kind=kind) for unit, day in told]
    works = [work(unit, day, part("drive")) for unit, day in told[::2]]
    shuffled = list(sightings)
    random.shuffle(shuffled)
    first, other = judge_meeting(sightings, works), judge_meeting(shuffled, works[::-1])
    assert (first is None) == (other is None)
    if first and other:
        assert [turn.reason for turn in first.turns] == [turn.reason for turn in other.turns]


@given(sighted)
def test_one_unit_never_clashes_and_two_without_work_always_do(
    told: list[tuple[str, int]],
) -> None:
    meeting = judge_meeting([seen(unit, day) for unit, day in told], [])
    names = {unit for unit, _ in told}
    assert (meeting is not None) == (len(names) > 1)
    assert meeting is None or meeting.is_clash


@given(sighted)
def test_enough_orders_explain_every_turn(told: list[tuple[str, int]]) -> None:
    """An order that fits the part wherever it is seen leaves nothing to clash."""
    works = [work(unit, day, part("drive", "D1")) for unit, day in told]
    meeting = judge_meeting([seen(unit, day) for unit, day in told], works)
    assert meeting is None or not meeting.is_clash
