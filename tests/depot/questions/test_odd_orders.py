"""Orders as they seldom run: at two stations, on wrong clocks, two at once."""

from itertools import permutations
from pathlib import Path

import pytest

from depot.questions.odd_ledger import DAY, HOUR, Row, attempt, blocking, collisions_of, summary_of


def test_two_sticks_both_have_a_first_attempt(tmp_path: Path) -> None:
    """Each counts by itself; which of them is read first is no matter."""
    held = attempt(10, station="A", evidence_digest="a")
    gone = attempt(12, station="B", evidence_digest="b", verdict="release")
    for number, reports in enumerate(permutations([held, gone])):
        found = [blocking(1, report_id=reports.index(held) + 1)]
        summary = summary_of(tmp_path / f"{number}", list(reports), found)
        assert (summary.attempts, summary.whole.first.count, summary.whole.final.count) == (2, 0, 1)
        (lost,) = summary.whole.lost
        assert lost.minutes == 2 * 60 - 5


def test_the_last_station_has_the_last_word(tmp_path: Path) -> None:
    reports = [
        attempt(9, station="A", evidence_digest="a"),
        attempt(10, station="A", evidence_digest="b", attempt=2),
        attempt(11, station="B", evidence_digest="c", verdict="release"),
    ]
    for number, told in enumerate(permutations(reports)):
        summary = summary_of(tmp_path / f"{number}", list(told))
        assert (summary.whole.first.count, summary.whole.final.count) == (0, 1)


def test_a_clock_that_fell_back_turns_no_attempts_of_a_station_round(tmp_path: Path) -> None:
    """The board lost its battery between the two."""
    first = attempt(10, station="A", evidence_digest="a")
    second = attempt(-4000 * 24, station="A", evidence_digest="b", attempt=2, verdict="release")
    summary = summary_of(tmp_path / "ledger", [second, first])
    assert (summary.whole.first.count, summary.whole.final.count) == (0, 1)
    assert summary.whole.lost == ()


def test_an_answer_belongs_to_its_attempt(tmp_path: Path) -> None:
    said = {"evidence_digest": "a", "attempt": 1}
    reports = [
        attempt(10, **said, revision=2, verdict="release"),
        attempt(10, **said, verdict="undecided"),
    ]
    summary = summary_of(tmp_path / "ledger", reports)
    assert (summary.attempts, summary.whole.first.count) == (1, 1)


def test_a_pause_is_one_however_many_parts_a_rule_found_wrong(tmp_path: Path) -> None:
    """Two slots, one rule, and another rule beside them: two thirds of the time, one pause."""
    reports = [
        attempt(10, evidence_digest="a", time_source="clock, unproven"),
        attempt(11, evidence_digest="b", attempt=2, verdict="release"),
    ]
    found = [blocking(1), blocking(2), blocking(3, "wifi.presence")]
    summary = summary_of(tmp_path / "ledger", reports, found)
    told = {each.rule: (each.minutes, each.pauses, each.unproven) for each in summary.whole.lost}
    assert told == {
        "memory.size": (pytest.approx(55 * 2 / 3), 1, 1),
        "wifi.presence": (pytest.approx(55 / 3), 1, 1),
    }


def test_a_unit_came_back_behind_an_order_that_was_open_at_the_same_time(tmp_path: Path) -> None:
    """WO-2 was begun before WO-1 was released, and never ended."""
    day = DAY / HOUR
    reports = [
        attempt(0, verdict="release", finished_at=attempt(5 * day)["started_at"]),
        attempt(3 * day, work_order="WO-2"),
        attempt(10 * day, work_order="WO-3"),
        attempt(90 * day, work_order="WO-4", unit="label S2"),
    ]
    summary = summary_of(tmp_path / "ledger", reports)
    assert (summary.returns.count, summary.returns.total) == (1, 1)
    (back,) = summary.returned
    assert (back.order, back.next_order, back.days) == ("WO-1", "WO-3", 5)


def test_a_second_order_of_the_same_second_is_none_that_came_back(tmp_path: Path) -> None:
    reports = [
        attempt(0, verdict="release", finished_at=attempt(0)["started_at"]),
        attempt(0, work_order="WO-2"),
        attempt(2000, work_order="WO-4", unit="label S2"),
    ]
    assert summary_of(tmp_path / "ledger", reports).returns.count == 0


def worked(number: int, **told: object) -> Row:
    """A report of that day at one of three stations, all of which got a new stick at the 40th."""
    build = "9" if number < 40 else "10"
    known = {"station": f"B{number % 3}", "stick_build": build, "work_order": f"WO-{number}"}
    return attempt(24 * number, **{**known, **told})


@pytest.mark.parametrize("source", ["time server", "clock, unproven"])
@pytest.mark.parametrize("hour", [-4000 * 24, 27000 * 24])
@pytest.mark.parametrize("build", ["9", "10"])
def test_a_wrong_clock_makes_no_stick_old_and_none_new(
    tmp_path: Path, source: str, hour: int, build: str
) -> None:
    wrong = attempt(hour, station="B1", stick_build=build, time_source="clock, unproven")
    reports = [worked(number, time_source=source) for number in range(80)]
    summary = summary_of(tmp_path / "ledger", [*reports, {**wrong, "work_order": "WO-X"}])
    assert summary.stale == ()


def test_a_stick_that_is_old_is_named(tmp_path: Path) -> None:
    reports = [worked(number) for number in range(80)]
    left = worked(80, station="B7", stick_build="9")
    (stale,) = summary_of(tmp_path / "ledger", [*reports, left]).stale
    assert (stale.station, stale.version, stale.newest, stale.days) == ("B7", "9", "10", 40)


def test_the_wrong_unit_on_the_bench_is_no_label_on_two_boards(tmp_path: Path) -> None:
    """Its own label was scanned, and says another serial than the order that was meant."""
    right = attempt(9, unit="label S1", label_serial="S1", board="one")
    wrong = attempt(99, unit="label S2", label_serial="S1", board="two", work_order="WO-2")
    assert collisions_of(tmp_path / "wrong", [right, wrong]).clashes == ()
    moved = {**wrong, "unit": "label S1"}
    (clash,) = collisions_of(tmp_path / "moved", [right, moved]).clashes
    assert (clash.kind, clash.value) == ("label", "S1")
    scanned = attempt(99, unit="label S2", label_serial="S9", board="three", work_order="WO-9")
    (clash,) = collisions_of(tmp_path / "scanned", [wrong, scanned]).clashes
    assert (clash.kind, clash.value) == ("label", "S2")


def test_an_order_that_began_before_is_no_first_pass_of_the_months_asked_for(
    tmp_path: Path,
) -> None:
    """What has no number began with each of its units, as far as anybody knows."""
    reports = [
        attempt(0, evidence_digest="a"),
        attempt(24 * 30, evidence_digest="b", attempt=2, verdict="release"),
        attempt(24 * 30, work_order="WO-2", verdict="release"),
        attempt(1, work_order="", unit="label S2"),
        attempt(24 * 31, work_order="", unit="label S2", verdict="release", attempt=9),
    ]
    month = reports[1]["month"]
    assert month > reports[0]["month"]
    summary = summary_of(tmp_path / "ledger", reports, since=month)
    assert (summary.whole.first.count, summary.whole.first.total) == (2, 2)
    assert summary.attempts == 2
    assert summary.units == 2
    (tmp_path / "ledger").unlink()
    assert summary_of(tmp_path / "ledger", reports).whole.first.total == 3


def failing(number: int, digest: str, **told: object) -> Row:
    """An order of its own that the rule of `blocking` keeps back, by that profile."""
    order = {"work_order": f"WO-{number}", "unit": f"label S{number}"}
    return attempt(number, **{"model": "Fen 14", "profile_digest": digest, **order, **told})


def test_a_clock_that_runs_ahead_keeps_no_old_profile_in_use(tmp_path: Path) -> None:
    old = [failing(number, "old", station=f"B{number % 2}") for number in range(6)]
    new = [failing(number, "new", station="B1") for number in range(10, 13)]
    found = [blocking(1, report_id=number) for number in range(1, 7)]
    (wrong,) = collisions_of(tmp_path / "before", old, found).profiles
    assert wrong.profile_digest == "old"
    ahead = failing(27000 * 24, "old", station="B1")
    assert collisions_of(tmp_path / "after", [*old, *new, ahead], found).profiles == ()


@pytest.mark.parametrize(("station", "count"), [("", 0), ("B2", 1)])
def test_reports_of_no_station_are_no_second_one(tmp_path: Path, station: str, count: int) -> None:
    reports = [failing(number, "p", station=("B1", station)[number % 2]) for number in range(6)]
    found = [blocking(1, report_id=number) for number in range(1, 7)]
    assert len(collisions_of(tmp_path / "ledger", reports, found).profiles) == count
