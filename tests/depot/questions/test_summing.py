"""What counts as a pause and as a unit that came back: a few reports, by the second."""

from contextlib import closing
from pathlib import Path

from closeout.depot.questions.opening import open_index
from closeout.depot.statistics.wilson import share_of
from closeout.depot.summary import Summary, Terms, sum_up
from strategies.depot_reports import add, circumstances, lay_down, raw_of, tree_of

FAR = 4_000_000_000


def summary_of(folder: Path, *reports: tuple[int, str, int, str, str, str], days: int) -> Summary:
    """Of a unit by its number: order, attempt, verdict, when it was started and finished."""
    for unit, order, attempt, verdict, started, finished in reports:
        own = circumstances(unit, order=order, attempt=attempt) | {
            "started": {"text": started, "source": "clock"},
            "finished": {"text": finished, "source": "clock"},
        }
        raw = raw_of(tree_of(unit, circumstances=own, verdict=verdict))
        lay_down(folder / "reports" / order / str(attempt), {"report.json": raw})
    told, ledger = add(str(folder / "ledger.sqlite"), folder / "reports")
    ledger.close()
    assert told.added == len(reports)
    with closing(open_index(str(folder / "ledger.sqlite"))) as index:
        return sum_up(index, Terms(days=days, stale_days=30, now=FAR))


def pause(
    unit: int, finished: str, started: str
) -> tuple[tuple[int, str, int, str, str, str], ...]:
    """An attempt that did not release, and the next of the same order."""
    order = f"T-{unit}"
    return (
        (unit, order, 1, "hold", finished, finished),
        (unit, order, 2, "release", started, started),
    )


def test_a_pause_is_of_one_day_and_within_four_hours(tmp_path: Path) -> None:
    summary = summary_of(
        tmp_path,
        *pause(1, "2026-11-20T10:00:00Z", "2026-11-20T10:05:00Z"),
        *pause(2, "2026-11-20T08:00:00Z", "2026-11-20T12:00:00Z"),
        *pause(3, "2026-11-20T08:00:00Z", "2026-11-20T12:00:01Z"),
        *pause(4, "2026-11-20T23:59:00Z", "2026-11-21T00:01:00Z"),
        *pause(5, "2026-11-20T10:00:00Z", "2026-11-20T09:59:00Z"),
        days=30,
    )
    (lost,) = summary.whole.lost
    assert (lost.rule, lost.minutes, lost.pauses) == ("battery.health_percent", 245, 2)


def released(unit: int, order: str, day: str) -> tuple[int, str, int, str, str, str]:
    """An order that was released at noon of that day."""
    return unit, order, 1, "release", f"{day}T12:00:00Z", f"{day}T12:00:00Z"


def test_only_releases_that_are_old_enough_can_have_come_back(tmp_path: Path) -> None:
    summary = summary_of(
        tmp_path,
        released(1, "A-1", "2026-10-01"),
        released(1, "A-2", "2026-10-11"),  # after ten days, and on the last day that counts
        released(2, "B-1", "2026-10-01"),
        released(2, "B-2", "2026-10-12"),  # a day too late
        released(3, "C-1", "2026-10-12"),
        released(3, "C-2", "2026-10-13"),  # back, of a release that is too young to be counted
        released(4, "D-1", "2026-10-21"),  # the last report
        days=10,
    )
    assert summary.returns == share_of(1, 3)
    assert [each.order for each in summary.returned] == ["C-1", "A-1"]
