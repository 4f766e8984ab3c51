"""Orders, their attempts and what stood against them: what the other questions build on.

An order that has no number is taken to be its unit. Of an attempt the latest revision counts,
since answers and concessions belong to it. Which of two reports comes later is put into one number,
so that the least or the greatest of it finds the report in a single pass on every engine.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from closeout.depot.questions.engine import Expression, ibis
from closeout.depot.questions.opening import Index

JUDGED: Final = "judged"
REVISIONS: Final = 1024
IDS: Final = 2**32
MOST_ATTEMPTS: Final = 2**20
"""More than that is no order but a mistake; it must not leave the range of 64 bits."""
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


def ends_of_orders(report: Expression) -> Expression:
    """A row for each order: its first attempt and its last, each in its latest revision."""
    reports = judged(report)
    attempt = ibis.least(reports.attempt, MOST_ATTEMPTS).cast("int64") * REVISIONS
    revision = ibis.least(reports.revision, REVISIONS - 1).cast("int64")
    ranked = reports.select(
        "job",
        early=(attempt + (REVISIONS - 1 - revision)) * IDS + reports.id,
        late=(attempt + revision) * IDS + reports.id,
    )
    ends = ranked.group_by("job").aggregate(early=ranked.early.min(), late=ranked.late.max())
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


def begun_in(index: Index, rows: Expression) -> Expression:
    """Rows with a `job`, without the orders that began before the first month that is asked of.

    What is left of such an order would be taken for its first attempt.
    """
    if index.earlier is None:
        return rows
    return rows.anti_join(judged(index.earlier).select("job").distinct(), "job")


def narrow(rows: Expression, only: Mapping[str, str]) -> Expression:
    """Rows of one model, repair, station or week; of a repair also where it was one of several."""
    for name, wanted in only.items():
        column = rows[GROUPS[name]]
        if name == REPAIR:
            rows = rows.filter((JOINT + column + JOINT).contains(f"{JOINT}{wanted}{JOINT}"))
        else:
            rows = rows.filter(column == wanted)
    return rows


def attempts(reports: Expression) -> Expression:
    """A row for each attempt of judged reports, by its latest revision.

    Columns: `job`, `attempt`, `report_id`, `started`, `finished`.
    """
    revision = ibis.least(reports.revision, REVISIONS - 1).cast("int64")
    ranked = reports.mutate(rank=revision * IDS + reports.id)
    grouped = ranked.group_by("job", "attempt").aggregate(
        rank=ranked["rank"].max(),
        started=ranked.started_at.min(),
        finished=ranked.finished_at.max(),
    )
    return grouped.select("job", "attempt", "started", "finished", report_id=grouped["rank"] % IDS)


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
