"""Stations and profiles held against one another: planted ones are found, null boards quiet."""

import pytest

from closeout.depot.across import stations
from closeout.depot.across.profiles import (
    Failing,
    Found,
    describe,
    is_absence,
    latest_profiles,
    suspects,
)
from closeout.depot.across.stations import Counted, compare
from depot.statistics.boards import ODD, Board, compared, false_alarms, is_found

MODEL = ("Fen 14", "d1")


def test_a_null_board_is_quiet() -> None:
    assert [false_alarms(seed, Board(scatter=0.2)) for seed in range(3)] == [0, 0, 0]


def test_a_station_with_twelve_times_the_finding_is_named_and_no_other() -> None:
    board = Board(orders=130, times=12)
    (odd,) = compared(1, board).odd
    assert (odd.place, odd.rule) == (ODD, "rule 00")
    assert odd.adjusted <= 0.05
    assert odd.ratio
    assert odd.ratio > 6
    assert odd.count / odd.total > 6 * odd.other_count / odd.other_total
    assert is_found(1, board)


def test_an_alarm_is_what_one_false_in_twenty_allows(monkeypatch: pytest.MonkeyPatch) -> None:
    work = [Counted(place=place, sort=("x",), count=200) for place in "abcdef"]

    def adjusted(count: int) -> float:
        """How surely station a differs, with so many findings; 1 where it is not named."""
        found = [
            Counted(place=place, sort=("x",), count=count if place == "a" else 4, rule="r")
            for place in "abcdef"
        ]
        return next((odd.adjusted for odd in compare(work, found).odd if odd.place == "a"), 1)

    counts = range(4, 30)
    named = [count for count in counts if adjusted(count) < 1]
    monkeypatch.setattr(stations, "FALSE_SHARE", 0.999)
    told = {count: adjusted(count) for count in counts}
    assert [count for count in counts if told[count] <= 0.05] == named
    assert [count for count in counts if 0.05 < told[count] <= 0.2]


def test_a_station_that_does_other_work_is_none_that_differs() -> None:
    """All of its work is of a sort that fails often, at the other station too."""
    work = [
        Counted(place="a", sort=("hard",), count=200),
        Counted(place="b", sort=("hard",), count=200),
        Counted(place="b", sort=("easy",), count=5000),
    ]
    found = [
        Counted(place="a", sort=("hard",), count=60, rule="r"),
        Counted(place="b", sort=("hard",), count=60, rule="r"),
        Counted(place="b", sort=("easy",), count=5, rule="r"),
    ]
    result = compare(work, found)
    assert result.odd == ()
    assert result.tests == 2
    assert result.sights == ()


def test_alone_in_its_work_nothing_can_be_compared() -> None:
    work = [Counted(place="a", sort=("x",), count=9)]
    found = [Counted(place="a", sort=("x",), count=9, rule="r")]
    assert compare(work, found).tests == 0
    assert compare([], []).odd == ()


def test_the_power_of_each_station_goes_by_its_volume() -> None:
    work = [Counted(place=name, sort=("x",), count=n) for name, n in (("a", 30), ("b", 300))]
    found = [Counted(place="b", sort=("x",), count=3, rule="r")]
    small, large = compare(work, found, tells_power=True).sights
    assert (small.place, small.units, large.units) == ("a", 30, 300)
    for (share, times, low), (other_share, other_times, high) in zip(
        small.powers, large.powers, strict=True
    ):
        assert (share, times) == (other_share, other_times)
        assert low <= high


def failing(failed: int, stations: int = 3, rule: str = "display.size") -> Failing:
    return Failing(profile=MODEL, rule=rule, failed=failed, stations=stations)


@pytest.mark.parametrize(
    ("failed", "total", "stations", "is_said"),
    [(4, 4, 2, True), (4, 4, 1, False), (3, 3, 3, False), (12, 25, 3, False), (20, 25, 3, True)],
)
def test_a_demand_is_suspected_when_nearly_all_fail_it_at_two_stations(
    failed: int,
    total: int,
    stations: int,
    is_said: bool,  # noqa: FBT001
) -> None:
    each = failing(failed, stations)
    assert suspects([each], {MODEL: total}) == ([each] if is_said else [])


def test_the_same_foreign_value_makes_it_a_variant() -> None:
    told = [Found(expected="1366 x 768", found="1920 x 1080", count=18)]
    told.append(Found(expected="1366 x 768", found="none", count=2))
    wrong = describe(failing(20), 20, told)
    assert (wrong.alike, wrong.alike_count) == ("1920 x 1080", 18)
    assert wrong.expected == "1366 x 768"


@pytest.mark.parametrize("found", ["none", "Nothing there", "", "no panel", "empty"])
def test_absence_and_scattered_values_are_no_variant(found: str) -> None:
    told = [Found(expected="x", found=found, count=10), Found(expected="x", found="z", count=10)]
    assert describe(failing(20), 20, told).alike == ""
    assert describe(failing(20), 20, []).alike == ""


def test_absence_is_told_from_a_value() -> None:
    assert is_absence("none")
    assert not is_absence("1920 x 1200")


def test_a_mended_profile_is_not_held_against_its_past() -> None:
    used = {("Fen 14", "old"): 1, ("Fen 14", "new"): 9, ("Osier 15", "only"): 5}
    assert latest_profiles(used) == {("Fen 14", "new"), ("Osier 15", "only")}
