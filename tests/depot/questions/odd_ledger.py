"""Small ledgers of a few rows, for what happens seldom."""

from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import create_engine, insert

from closeout.depot.collisions import Collisions, find_collisions, newest_week
from closeout.depot.questions.opening import Index, open_index
from closeout.depot.summary import Summary, Terms, sum_up
from closeout.depot.tables import INDEX_TABLES, finding, report, tables
from closeout.depot.weeks import week_of, weeks_until

HOUR = 3_600
DAY = 24 * HOUR
FIRST = 1_795_000_000 // DAY * DAY
TEXTS = dict.fromkeys((column.name for column in report.columns), "")
Row = dict[str, Any]


def attempt(hour: float, **told: object) -> Row:
    """A report that was begun that many hours after the first day began, and took five minutes."""
    started = FIRST + round(hour * HOUR)
    row = {
        **TEXTS,
        "kind": "judged",
        "unit": "label S1",
        "work_order": "WO-1",
        "attempt": 1,
        "revision": 1,
        "started_at": started,
        "finished_at": started + 300,
        "replaces_board": False,
        "verdict": "hold",
        **told,
    }
    moment = datetime.fromtimestamp(row["finished_at"], UTC)
    row |= {"week": week_of(row["finished_at"]), "month": moment.strftime("%Y-%m")}
    row["day"] = moment.strftime("%Y-%m-%d")
    return row


def blocking(number: int, rule: str = "memory.size", report_id: int = 1) -> Row:
    """A finding that keeps a unit back."""
    row = {column.name: "" for column in finding.columns}
    told = {"rule": rule, "weight": "must", "outcome": "fail", "is_conceded": False}
    return {**row, "report_id": report_id, "number": number, **told}


def summary_of(
    file: Path, reports: list[Row], findings: list[Row] | None = None, since: str = ""
) -> Summary:
    """Of a ledger that took in these reports in this order."""
    with closing(ledger_of(file, reports, findings)) as index:
        asked = index.since(since) if since else index
        return sum_up(asked, Terms(days=30, stale_days=30, now=FIRST + 300 * DAY))


def collisions_of(file: Path, reports: list[Row], findings: list[Row] | None = None) -> Collisions:
    """The same; stations over all weeks."""
    with closing(ledger_of(file, reports, findings)) as index:
        return find_collisions(index, weeks_until(newest_week(index), 50), 30, FIRST + 300 * DAY)


def ledger_of(file: Path, reports: list[Row], findings: list[Row] | None = None) -> Index:
    """A ledger of these rows, opened."""
    engine = create_engine(f"sqlite:///{file}")
    tables.create_all(engine, tables=list(INDEX_TABLES))
    rows = [
        {**row, "id": number, "digest": f"{number:064}"}
        for number, row in enumerate(reports, start=1)
    ]
    with engine.begin() as connection:
        connection.execute(insert(report), rows)
        if findings:
            connection.execute(insert(finding), findings)
    engine.dispose()
    return open_index(str(file))
