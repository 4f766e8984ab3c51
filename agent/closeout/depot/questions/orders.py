"""Orders, their attempts and what stood against them: what the other questions build on.

An order that has no number is taken to be its unit. Of an attempt the latest revision counts,
since answers and concessions belong to it. Which of two reports comes later is put into one number,
so that the least or the greatest of it finds the report on every engine.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from closeout.depot.questions.engine import Expression, ibis
from closeout.depot.questions.opening import Index
from closeout.depot.tables import JUDGED

REVISIONS: Final = 1024
IDS: Final = 2**32
UNPROVEN: Final = ("review", "unread", "uncovered")
OF_INTEREST: Final = ("must", "should")
REPAIR: Final = "repair"
JOINT: Final = "+"
"""Between the repairs of one order."""
GROUPS: Final = {"model": "model", REPAIR: "repairs", "station": "station", "week": "week"}
"""What orders are told apart by, and the column of it: that of the order's first attempt."""


def judged(report: Expression) -> Expression:
    """Reports of attempts, with the order in `job`: no drafts, no units that were not checked."""
    kept = report.filter(report.kind == JUDGED)
    has_number = kept.work_order != ""
    return kept.mutate(job=ibis.ifelse(has_number, kept.work_order, kept.unit))


def narrow(rows: Expression, only: Mapping[str, str]) -> Expression:
    """Rows of one model, repair, station or week; of a repair also where it was one of several."""
    for name, wanted in only.items():
        column = rows[GROUPS[name]]
        if name == REPAIR:
            rows = rows.filter((JOINT + column + JOINT).contains(f"{JOINT}{wanted}{JOINT}"))
        else:
            rows = rows.filter(column == wanted)
    return rows


def attempts(index: Index) -> Expression:
    """A row for each attempt: its report, and its place among those of the order, from 0.

    An attempt is known by its number and its evidence, since each stick counts by itself: two
    stations may both have a first one. Those of one station follow their numbers, whatever a clock
    said; those of several stations the times at which they began. Where no other followed,
    `next_started` is before the end. An order that began before what is asked of is left out: its
    first attempt is not there.
    """
    reports = judged(index.report)
    if index.begun is not None:
        is_begun = reports.work_order.isin(index.begun.work_order)
        reports = reports.filter((reports.work_order == "") | ~is_begun)
    revision = ibis.least(reports.revision, REVISIONS - 1).cast("int64")
    ranked = reports.mutate(rank=revision * IDS + reports.id)
    grouped = ranked.group_by("job", "attempt", "evidence_digest").aggregate(
        rank=ranked["rank"].max(),
        station=ranked.station.min(),
        started=ranked.started_at.min(),
        finished=ranked.finished_at.max(),
    )
    grouped = grouped.mutate(report_id=grouped["rank"] % IDS)
    own = ibis.window(
        group_by=[grouped.job, grouped.station],
        order_by=[grouped.attempt, grouped.started, grouped.evidence_digest],
        rows=(None, 0),
    )
    placed = grouped.mutate(moment=grouped.started.max().over(own))
    line = ibis.window(
        group_by=placed.job,
        order_by=[placed.moment, placed.attempt, placed.started, placed.evidence_digest],
    )
    return placed.select(
        *("job", "report_id", "started", "finished"),
        place=ibis.row_number().over(line).cast("int64"),
        next_started=placed.started.lead().over(line).fill_null(placed.finished - 1),
    )


def ends_of_orders(index: Index, rounds: Expression) -> Expression:
    """A row for each order: its first attempt and its last, each in its latest revision."""
    report = index.report
    ranked = rounds.select("job", rank=rounds.place * IDS + rounds.report_id)
    ends = ranked.group_by("job").aggregate(early=ranked["rank"].min(), late=ranked["rank"].max())
    ends = ends.select("job", first_id=ends.early % IDS, last_id=ends.late % IDS)
    first = report.select(
        "id",
        *("unit", "board", "model", "profile_digest", "repairs", "station", "week"),
        first_verdict=report.verdict,
        first_started=report.started_at,
    )
    last = report.select("id", last_verdict=report.verdict, last_finished=report.finished_at)
    with_first = ends.inner_join(first, ends.first_id == first.id).drop("id")
    return with_first.inner_join(last, with_first.last_id == last.id).drop("id")


def has_failed(finding: Expression) -> Expression:
    """It failed or was answered no, whether or not somebody conceded it."""
    return (finding.outcome == "fail") | (finding.answer == "no")


def shows(finding: Expression) -> Expression:
    """It failed, or it is unproven and no person has said yes; notes are none of it."""
    is_open = finding.outcome.isin(UNPROVEN) & (finding.answer != "yes")
    return finding.weight.isin(OF_INTEREST) & (has_failed(finding) | is_open)


def blocks(finding: Expression) -> Expression:
    """It keeps the unit from a release."""
    return (finding.weight == "must") & shows(finding) & ~finding.is_conceded
