"""What a depot's reports add up to: asked of the index, then turned into shares."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Final

from closeout.depot.questions import summing
from closeout.depot.questions.engine import Expression, Row, only_row, rows_of
from closeout.depot.questions.opening import Index
from closeout.depot.questions.orders import attempts, ends_of_orders
from closeout.depot.statistics.wilson import Share, share_of
from closeout.model.frozen import frozen

DAY: Final = 86_400
MINUTE: Final = 60
MOST_RETURNED: Final = 50
"""Units named that came back; all of them are counted."""
FEWEST_TO_DOUBT: Final = 3
"""Reports of a version, from which on the earliest of them may have a wrong clock."""
DRAFT: Final = "draft"


@frozen
class Terms:
    """What is asked: `days` to come back in, and how much older a stick may be than the newest."""

    days: int
    stale_days: int
    now: int


@frozen
class Yield:
    """Orders of one model, repair, station or week: released at the first attempt, and at last."""

    name: str
    first: Share
    final: Share


@frozen
class Often:
    """A rule or a step: in how many orders, and in how many of them it kept the unit back."""

    name: str
    orders: int
    kept_back: int = 0


@frozen
class Lost:
    """Minutes between an attempt without release and the next, by the rule that was at fault."""

    rule: str
    minutes: float
    pauses: int
    unproven: int


@frozen
class Returned:
    """A unit that came back: released with one order, begun again with the next."""

    unit: str
    model: str
    station: str
    order: str
    next_order: str
    days: int


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


@frozen
class Summary:
    """All of it. `returns` is of the orders that are old enough for the days to be over."""

    terms: Terms
    units: int
    first: int
    last: int
    attempts: int
    drafts: int
    unrun: Mapping[str, int]
    whole: Yield
    by: Mapping[str, tuple[Yield, ...]]
    findings: tuple[Often, ...]
    reseats: tuple[Often, ...]
    lost: tuple[Lost, ...]
    returns: Share
    returned: tuple[Returned, ...]
    stale: tuple[Stale, ...]


GROUPS: Final = {"model": "model", "repair": "repairs", "station": "station", "week": "week"}
"""What the yield is told by, and the column of it."""
VERSIONS: Final = {"stick build": "stick_build", "profile set": "profile_set"}


def sum_up(index: Index, terms: Terms) -> Summary:
    """Asks all questions; no order in it is left to the engine."""
    span = only_row(summing.span(index.report))
    kinds = rows_of(summing.kinds_of_reports(index.report))
    latest = min(span["last"], terms.now)
    with (
        attempts(index).cache() as rounds,
        ends_of_orders(index, rounds).cache() as ends,
    ):
        by = {name: _yields(ends, column) for name, column in GROUPS.items()}
        back = only_row(summing.returns(ends, terms.days, latest))
        returned = rows_of(summing.returned(ends, terms.days, MOST_RETURNED))
        findings = _often(rows_of(summing.findings(index, rounds)), "rule")
        reseats = _often(rows_of(summing.reseats(index, rounds)), "title")
        lost = _lost(rows_of(summing.seconds_lost(index, rounds)))
        taken = only_row(rounds.aggregate(attempts=rounds.count()))["attempts"]
    return Summary(
        terms=terms,
        units=span["units"],
        first=span["first"],
        last=span["last"],
        attempts=taken,
        drafts=sum(row["reports"] for row in kinds if row["kind"] == DRAFT),
        unrun=_unrun(kinds),
        whole=_together(by["model"]),
        by=by,
        findings=findings,
        reseats=reseats,
        lost=lost,
        returns=share_of(back["back"], back["released"]),
        returned=_returned(returned),
        stale=tuple(_stale(index, terms)),
    )


def _yields(ends: Expression, column: str) -> tuple[Yield, ...]:
    rows = sorted(rows_of(summing.yields(ends, column)), key=lambda row: str(row[column]))
    return tuple(
        Yield(
            name=row[column],
            first=share_of(row["at_first"], row["orders"]),
            final=share_of(row["at_last"], row["orders"]),
        )
        for row in rows
    )


def _together(yields: Iterable[Yield]) -> Yield:
    known = tuple(yields)
    orders = sum(each.first.total for each in known)
    return Yield(
        name="all",
        first=share_of(sum(each.first.count for each in known), orders),
        final=share_of(sum(each.final.count for each in known), orders),
    )


def _unrun(kinds: Iterable[Row]) -> dict[str, int]:
    told = {row["why_unrun"]: row["reports"] for row in kinds if row["kind"] == "unrun"}
    return dict(sorted(told.items()))


def _often(rows: Iterable[Row], column: str) -> tuple[Often, ...]:
    """The most frequent first."""
    found = [
        Often(name=row[column], orders=row["orders"], kept_back=row.get("kept_back", 0))
        for row in rows
    ]
    return tuple(sorted(found, key=lambda each: (-each.orders, each.name)))


def _lost(rows: Iterable[Row]) -> tuple[Lost, ...]:
    """Each pause is shared equally among the findings that kept the unit back."""
    parts: dict[str, list[Row]] = {}
    for row in rows:
        parts.setdefault(row["rule"], []).append(row)
    found = [
        Lost(
            rule=rule,
            minutes=sum(row["seconds"] / row["among"] for row in _in_order(own)) / MINUTE,
            pauses=sum(row["pauses"] for row in own),
            unproven=sum(row["unproven"] for row in own),
        )
        for rule, own in parts.items()
    ]
    return tuple(sorted(found, key=lambda each: (-each.minutes, each.rule)))


def _in_order(rows: Iterable[Row]) -> list[Row]:
    return sorted(rows, key=lambda row: int(row["among"]))


def _returned(rows: Iterable[Row]) -> tuple[Returned, ...]:
    ordered = sorted(rows, key=lambda row: (-row["next_started"], row["unit"], row["job"]))
    return tuple(
        Returned(
            unit=row["unit"],
            model=row["model"],
            station=row["station"],
            order=row["job"],
            next_order=row["next_job"],
            days=(row["next_started"] - row["last_finished"]) // DAY,
        )
        for row in ordered
    )


def _stale(index: Index, terms: Terms) -> Iterable[Stale]:
    """Each station whose last report has a version that others left behind long ago.

    A version is as old as the first report that has it; its name tells nothing that can be counted.
    """
    latest = summing.latest_of_stations(index.report, terms.now)
    stations = sorted(rows_of(latest), key=_station)
    for what, column in VERSIONS.items():
        first = _first_days(rows_of(summing.days_seen(index.report, column, terms.now)))
        if not first:
            continue
        newest = max(first, key=lambda version: (first[version], version))
        for row in stations:
            own = row[column]
            days = first[newest] - first.get(own, first[newest])
            if days > terms.stale_days:
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
