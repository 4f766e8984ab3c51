"""Stations that work with an old stick: what it was built of, and the profiles on it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Final

from closeout.depot.questions import summing
from closeout.depot.questions.engine import Row, rows_of
from closeout.depot.questions.opening import Index
from closeout.model.frozen import frozen

VERSIONS: Final = {"stick build": "stick_build", "profile set": "profile_set"}
FEWEST_TO_DOUBT: Final = 3
"""Reports of a version, from which on the earliest of them may have a wrong clock."""


@frozen
class Stale:
    """A station that works with an old stick: what it has, what there is, and days between them.

    `used` is when it was used last.
    """

    station: str
    what: str
    version: str
    newest: str
    days: int
    used: int


def find_old_sticks(index: Index, stale_days: int, now: int) -> Iterable[Stale]:
    """Each station whose last report has a version that others left behind long ago.

    A version is as old as the first report that has it; its name tells nothing that can be counted.
    """
    latest = summing.latest_of_stations(index.report, now)
    stations = sorted(rows_of(latest), key=_station)
    for what, column in VERSIONS.items():
        first = _first_days(rows_of(summing.days_seen(index.report, column, now)))
        if not first:
            continue
        newest = max(first, key=lambda version: (first[version], version))
        for row in stations:
            own = row[column]
            days = first[newest] - first.get(own, first[newest])
            if days > stale_days:
                yield Stale(
                    station=row["station"],
                    what=what,
                    version=own,
                    newest=newest,
                    days=days,
                    used=row["started_at"],
                )


def _first_days(rows: Iterable[Row]) -> dict[str, int]:
    """The day since which each version is met: by proven clocks, where it was met by one.

    A clock that fell back makes a version older than it is. So where there are three reports the
    earliest is left out, and of hundreds one in a hundred.
    """
    seen: dict[tuple[str, int], list[tuple[int, int]]] = {}
    for row in rows:
        day = date.fromisoformat(row["day"]).toordinal()
        seen.setdefault((row["version"], row["is_proven"]), []).append((day, row["reports"]))
    first: dict[str, int] = {}
    for (version, _), days in sorted(seen.items()):  # proven ones are last, and stand
        first[version] = _day_of_most(sorted(days))
    return first


def _day_of_most(days: Sequence[tuple[int, int]]) -> int:
    reports = sum(count for _, count in days)
    left_out = max(reports // 100, 1) if reports >= FEWEST_TO_DOUBT else 0
    for day, count in days:
        left_out -= count
        if left_out < 0:
            return day
    raise ValueError("no day at all")


def _station(row: Row) -> str:
    return str(row["station"])
