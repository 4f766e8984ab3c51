"""The questions of `closeout depot summary`."""

from __future__ import annotations

from typing import Final

from closeout.depot.questions.engine import Expression, ibis
from closeout.depot.questions.opening import Index
from closeout.depot.questions.orders import GROUPS, blocks, has_failed, shows

DAY: Final = 86_400
LONGEST_PAUSE: Final = 4 * 3_600
"""Seconds; who comes back to a unit later than that did something else in between."""
UNPROVEN_CLOCK: Final = "unproven"
RELEASE: Final = "release"
RESEAT: Final = "reseat"
"""How the catalogue says it in every advice that wants a part or a cable seated anew."""


def kinds_of_reports(report: Expression) -> Expression:
    """How many reports of each kind, and of units that were not checked why."""
    return report.group_by("kind", "why_unrun").aggregate(reports=report.count())


def span(reports: Expression) -> Expression:
    """How many units these reports of attempts are of, from when to when; 0 where none is."""
    return reports.aggregate(
        units=reports.unit.nunique(),
        first=reports.started_at.min().fill_null(0),
        last=reports.finished_at.max().fill_null(0),
    )


def yields(ends: Expression, by: str) -> Expression:
    """Of the orders with the same `by`, how many were released at first, and at last."""
    return ends.group_by(by).aggregate(
        orders=ends.count(),
        at_first=(ends.first_verdict == RELEASE).ifelse(1, 0).sum(),
        at_last=(ends.last_verdict == RELEASE).ifelse(1, 0).sum(),
    )


def findings(index: Index, rounds: Expression, ends: Expression) -> Expression:
    """A row for each order and rule that stood against it: 1 where it failed, kept it back."""
    shown = index.finding.filter(shows(index.finding))
    shown = shown.select(
        "report_id",
        "rule",
        failed=has_failed(shown).ifelse(1, 0),
        kept_back=blocks(shown).ifelse(1, 0),
    )
    rows = shown.inner_join(rounds, shown.report_id == rounds.report_id)
    rows = rows.group_by("job", "rule").aggregate(
        failed=rows.failed.max(), kept_back=rows.kept_back.max()
    )
    return _of_orders(rows, ends)


def findings_by(found: Expression, column: str) -> Expression:
    """Of the orders with the same of this column: in how many each rule failed, or stayed open."""
    return found.group_by(column, "rule").aggregate(
        orders=found.failed.sum(),
        open=(1 - found.failed).sum(),
        kept_back=found.kept_back.sum(),
    )


def reseats(index: Index, rounds: Expression, ends: Expression) -> Expression:
    """A row for each order and first step that says to reseat something."""
    advised = index.step.filter(index.step.action.lower().contains(RESEAT))
    rows = advised.inner_join(rounds, advised.report_id == rounds.report_id)
    return _of_orders(rows.select("job", "action").distinct(), ends)


def reseats_by(advised: Expression, column: str) -> Expression:
    """Of the orders with the same of this column: how many were advised each reseat."""
    return advised.group_by(column, "action").aggregate(orders=advised.count())


def _of_orders(rows: Expression, ends: Expression) -> Expression:
    """Rows with a `job`, and what their orders are told apart by."""
    return rows.inner_join(ends.select("job", *GROUPS.values()), "job")


def pauses(index: Index, rounds: Expression) -> Expression:
    """Attempts without release that another followed on the same day, within four hours."""
    waits = rounds.mutate(lost=rounds.next_started - rounds.finished)
    near = waits.filter(
        (waits.lost >= 0)
        & (waits.lost <= LONGEST_PAUSE)
        & ((waits.finished // DAY) == (waits.next_started // DAY))
    ).select("report_id", "job", "lost")
    said = index.report.select("id", "verdict", "time_source")
    rows = near.inner_join(said, near.report_id == said.id)
    return rows.filter(rows.verdict != RELEASE).select(
        *("report_id", "job", "lost"),
        is_unproven=rows.time_source.endswith(UNPROVEN_CLOCK).ifelse(1, 0),
    )


def seconds_lost(index: Index, rounds: Expression, ends: Expression) -> Expression:
    """A row for each pause and rule that kept the unit back.

    `among` is how many findings share the pause, `shares` how many of these are of the rule.
    """
    blocking = index.finding.filter(blocks(index.finding)).select("report_id", "rule")
    waits = pauses(index, rounds)
    rows = blocking.inner_join(waits, blocking.report_id == waits.report_id)
    shared = rows.group_by("report_id").aggregate(among=rows.count())
    own = rows.group_by("report_id", "job", "rule", "lost", "is_unproven").aggregate(
        shares=rows.count()
    )
    both = own.inner_join(shared, own.report_id == shared.report_id)
    columns = ("job", "rule", "lost", "is_unproven", "shares", "among")
    return _of_orders(both.select(*columns), ends)


def seconds_by(lost: Expression, column: str) -> Expression:
    """Seconds by rule and by how many findings share them: whole numbers, the same everywhere."""
    return lost.group_by(column, "rule", "among").aggregate(
        seconds=(lost.lost * lost.shares).sum(),
        pauses=lost.count(),
        unproven=lost.is_unproven.sum(),
    )


def followed(ends: Expression) -> Expression:
    """Each released order with the first of the same unit that began later, both null for none.

    Begins and releases of a unit stand in one line of time, and a release has so many begins before
    it; the next one may be behind orders that were open at the same time.
    """
    counted = ends.group_by("unit").aggregate(orders=ends.count())
    several = ends.filter(ends.unit.isin(counted.filter(counted.orders > 1).unit))
    begins = several.select("unit", "job", moment="first_started", begins=ibis.literal(1))
    released = several.filter(several.last_verdict == RELEASE)
    releases = released.select("unit", "job", moment="last_finished", begins=ibis.literal(0))
    events = begins.union(releases)
    line = ibis.window(
        group_by=events.unit,
        order_by=[events.moment, ibis.desc(events.begins), events.job],
        rows=(None, 0),
    )
    placed = events.mutate(place=events.begins.sum().over(line))
    begun = placed.filter(placed.begins == 1).select(
        next_unit="unit", next_job="job", next_started="moment", next_place="place"
    )
    gone = placed.filter(placed.begins == 0).select("unit", "place", earlier="job")
    pairs = gone.inner_join(
        begun, (gone.unit == begun.next_unit) & (gone.place + 1 == begun.next_place)
    )
    pairs = pairs.filter(pairs.earlier != pairs.next_job)
    pairs = pairs.select("earlier", "next_job", "next_started")
    rows = ends.filter(ends.last_verdict == RELEASE)
    return rows.left_join(pairs, rows.job == pairs.earlier).drop("earlier")


def returns(rows: Expression, days: int, until: int) -> Expression:
    """Of the orders that `followed` tells: those released `days` before `until`, and those back."""
    old = rows.filter(rows.last_finished <= until - days * DAY)
    return old.aggregate(
        released=old.count(), back=is_back(old, days).ifelse(1, 0).sum().fill_null(0)
    )


def returned(rows: Expression, days: int, most: int) -> Expression:
    """Of the orders that `followed` tells: those that came back, the latest first, so many."""
    kept = rows.filter(is_back(rows, days)).select(
        *("unit", "model", "station", "job", "next_job", "last_finished", "next_started")
    )
    return kept.order_by([ibis.desc(kept.next_started), kept.unit, kept.job]).limit(most)


def is_back(rows: Expression, days: int) -> Expression:
    """The next order of the unit began after the release, within so many days; null for no next."""
    gap = rows.next_started - rows.last_finished
    return (gap > 0) & (gap <= days * DAY)


def days_seen(report: Expression, version: str, until: int) -> Expression:
    """On which days each version of a stick's build or of the profile set was met, how often.

    By a proven clock or by another; what is after `until` has a wrong one.
    """
    told = report.filter((report[version] != "") & (report.started_at <= until))
    told = told.select(
        "day",
        version=told[version],
        is_proven=told.time_source.endswith(UNPROVEN_CLOCK).ifelse(0, 1),
    )
    return told.group_by("version", "day", "is_proven").aggregate(reports=told.count())


def latest_of_stations(report: Expression, until: int) -> Expression:
    """With which stick build and profile set each station worked last, and not after `until`."""
    told = report.filter((report.station != "") & (report.started_at <= until))
    newest = told.group_by("station").aggregate(started_at=told.started_at.max())
    among = told.semi_join(newest, ["station", "started_at"])
    last = among.group_by("station").aggregate(last_id=among.id.max()).select("last_id")
    rows = last.inner_join(told, last.last_id == told.id)
    return rows.select("station", "stick_build", "profile_set", "started_at")
