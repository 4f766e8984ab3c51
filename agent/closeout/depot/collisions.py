"""What collides across units, stations, profiles and parts: asked of a index, then judged."""

from __future__ import annotations

from collections.abc import Iterable

from closeout.depot.across.moves import Meeting, Sighting, Work, judge_meeting
from closeout.depot.across.profiles import (
    Failing,
    Found,
    WrongDemand,
    describe,
    latest_profiles,
    suspects,
)
from closeout.depot.across.stations import Compared, Counted, compare
from closeout.depot.questions import comparing, crossing
from closeout.depot.questions.engine import Expression, Row, only_row, rows_of
from closeout.depot.questions.opening import Index
from closeout.depot.questions.orders import attempts, ends_of_orders
from closeout.depot.weeks import Weeks
from closeout.model.frozen import frozen
from closeout.model.handling import PartChange


@frozen
class FillerQuestion:
    """A value on so many units that it is no clash but most likely a filler."""

    kind: str
    value: str
    units: int
    reports: int


@frozen
class Collisions:
    """All that one look at the ledger finds; `untold` reports name no unit."""

    weeks: Weeks
    days: int
    clashes: tuple[Meeting, ...]
    moves: tuple[Meeting, ...]
    fillers: tuple[FillerQuestion, ...]
    untold: int
    stations: Compared
    profiles: tuple[WrongDemand, ...]
    parts: Compared


def find_collisions(index: Index, weeks: Weeks, days: int, now: int) -> Collisions:
    """Asks all questions; stations within the weeks, parts by what came back within the days.

    What says that it is later than `now` does not make a profile the latest.
    """
    meetings: list[Meeting] = []
    fillers: list[FillerQuestion] = []
    for question, owner in (
        (crossing.met_twice(index, by_hash=index.has_wide_hash), "unit"),
        (crossing.labels_met_twice(index), "board"),
    ):
        with question.cache() as rows:
            meetings += _judge(index, rows, owner)
            fillers += _fillers(rows_of(crossing.counted(rows, owner)))
    with ends_of_orders(index, attempts(index)).cache() as ends:
        stations = _compare_stations(index, ends, weeks)
        profiles = _find_wrong(index, ends, now)
        parts = _compare_parts(index, ends, days)
    return Collisions(
        weeks=weeks,
        days=days,
        clashes=tuple(each for each in meetings if each.is_clash),
        moves=tuple(each for each in meetings if not each.is_clash),
        fillers=tuple(sorted(fillers, key=lambda each: (-each.units, each.kind, each.value))),
        untold=only_row(crossing.untold(index))["reports"],
        stations=stations,
        profiles=tuple(profiles),
        parts=parts,
    )


def newest_week(index: Index) -> str:
    """The week of the newest report; empty where there is none."""
    newest = index.report.week.max().fill_null("")
    week: str = only_row(index.report.aggregate(week=newest))["week"]
    return week


def _judge(index: Index, rows: Expression, owner: str) -> list[Meeting]:
    """Every value that is on a few units, with what explains it."""
    seen: dict[tuple[str, str], list[Sighting]] = {}
    for row in rows_of(crossing.sightings(index, rows, owner)):
        seen.setdefault((row["kind"], row["value"]), []).append(_sighting(row))
    works = _works(index, rows)
    meetings: list[Meeting] = []
    for _, sightings in sorted(seen.items()):
        own = [work for unit in {s.unit for s in sightings} for work in works.get(unit, ())]
        if meeting := judge_meeting(sorted(sightings, key=_order_of_sighting), own):
            meetings.append(meeting)
    return meetings


def _sighting(row: Row) -> Sighting:
    told = {name: row[name] for name in ("kind", "value", "unit", "board", "station")}
    counted = {name: row[name] for name in ("first", "last", "reports", "digest")}
    return Sighting(order=row["work_order"], **told, **counted)


def _order_of_sighting(sighting: Sighting) -> tuple[int, str, str]:
    return sighting.first, sighting.unit, sighting.order


def _works(index: Index, rows: Expression) -> dict[str, list[Work]]:
    """What was done to each unit of these rows, in the order of time."""
    parts: dict[tuple[str, str], list[PartChange]] = {}
    for row in rows_of(crossing.part_moves(index, rows)):
        told = {name: row[name] for name in ("kind", "is_fitted", "part_number", "serial")}
        parts.setdefault((row["unit"], row["work_order"]), []).append(PartChange(**told))
    works: dict[str, list[Work]] = {}
    for row in rows_of(crossing.works(index, rows)):
        works.setdefault(row["unit"], []).append(_work(row, parts))
    for own in works.values():
        own.sort(key=lambda work: (work.first, work.order))
    return works


def _work(row: Row, parts: dict[tuple[str, str], list[PartChange]]) -> Work:
    own = parts.get((row["unit"], row["work_order"]), [])
    return Work(
        unit=row["unit"],
        order=row["work_order"],
        first=row["first"],
        replaces_board=row["board_swaps"] > 0,
        parts=tuple(sorted(own, key=lambda part: (part.kind, part.part_number, part.serial))),
    )


def _fillers(rows: Iterable[Row]) -> Iterable[FillerQuestion]:
    for row in rows:
        if row["units"] > crossing.MOST_UNITS:
            yield FillerQuestion(
                kind=row["kind"], value=row["value"], units=row["units"], reports=row["rows"]
            )


def _compare_stations(index: Index, ends: Expression, weeks: Weeks) -> Compared:
    window = comparing.within(ends, (weeks.first, weeks.last))
    work = rows_of(comparing.work_of_stations(window))
    found = rows_of(comparing.findings_of_stations(index, window))
    return compare(map(_at_station, work), map(_at_station, found), tells_power=True)


def _at_station(row: Row) -> Counted:
    sort = (row["model"], row["repairs"])
    return Counted(place=row["station"], sort=sort, count=row["orders"], rule=row.get("rule", ""))


def _find_wrong(index: Index, ends: Expression, now: int) -> list[WrongDemand]:
    used = {
        (row["model"], row["profile_digest"]): (row["orders"], row["last"])
        for row in rows_of(comparing.units_of_profiles(ends, now))
    }
    current = latest_profiles({profile: last for profile, (_, last) in used.items()})
    totals = {profile: used[profile][0] for profile in current}
    failing = [
        Failing(
            profile=(row["model"], row["profile_digest"]),
            rule=row["rule"],
            failed=row["orders"],
            stations=row["stations"],
        )
        for row in rows_of(comparing.failures_of_profiles(index, ends))
    ]
    wrong = suspects((each for each in failing if each.profile in totals), totals)
    if not wrong:
        return []
    rules = sorted({each.rule for each in wrong})
    found: dict[tuple[object, str], list[Found]] = {}
    for row in rows_of(comparing.found_by_profiles(index, ends, rules)):
        key = ((row["model"], row["profile_digest"]), row["rule"])
        one = Found(expected=row["expected"], found=row["found"], count=row["orders"])
        found.setdefault(key, []).append(one)
    told = [
        describe(each, totals[each.profile], found.get((each.profile, each.rule), ()))
        for each in wrong
    ]
    return sorted(told, key=lambda each: (-each.belief, each.model, each.rule))


def _compare_parts(index: Index, ends: Expression, days: int) -> Compared:
    """Part numbers against the others of their class, within the model."""
    with comparing.fitted(index, ends).cache() as fitted:
        rows = rows_of(comparing.early_failures(index, ends, fitted, days))
    return compare(
        [_part(row, row["orders"], "") for row in rows],
        [_part(row, row["failed"], row["kind"]) for row in rows if row["failed"]],
    )


def _part(row: Row, count: int, rule: str) -> Counted:
    sort = (row["kind"], row["model"])
    return Counted(place=row["part_number"], sort=sort, count=count, rule=rule)
