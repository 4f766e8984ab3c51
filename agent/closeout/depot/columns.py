"""Rows of the index on their way out of the ledger: a month, in batches, as they are or hidden."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from sqlalchemy import ColumnElement, Connection, Select, Table, select

from closeout.depot.facts import Row
from closeout.depot.tables import identity, part, report
from closeout.depot.tokens import Tokens, known_values

AT_ONCE: Final = 20_000


def months_of(connection: Connection) -> Sequence[str]:
    """Every month that there are reports of."""
    return (
        connection.execute(select(report.c.month).distinct().order_by(report.c.month))
        .scalars()
        .all()
    )


def batches_of(
    connection: Connection, table: Table, month: str, tokens: Tokens | None
) -> Iterator[list[Row]]:
    """The rows of one table and month, in the order of their reports; at least one batch."""
    known = values_of(connection, report.c.month == month) if tokens else frozenset[str]()
    streamed = connection.execution_options(stream_results=True, yield_per=AT_ONCE)
    found = False
    for rows in streamed.execute(_wanted(table, month)).mappings().partitions(AT_ONCE):
        found = True
        if tokens:
            yield [tokens.hide(table.name, dict(row), known) for row in rows]
        else:
            yield [dict(row) for row in rows]
    if not found:
        yield []


def _wanted(table: Table, month: str) -> Select[tuple[object, ...]]:
    if table is report:
        return select(report).where(report.c.month == month).order_by(report.c.id)
    own = select(table).join(report, report.c.id == table.c.report_id)
    return own.where(report.c.month == month).order_by(table.c.report_id, table.c.number)


def values_of(connection: Connection, condition: ColumnElement[bool]) -> frozenset[str]:
    """What names the units of the reports for which the condition holds, to be sought in texts."""
    values = set(connection.execute(select(report.c.label_serial).where(condition)).scalars())
    for table, column in ((identity, identity.c.value), (part, part.c.serial)):
        wanted = select(column).distinct().join(report, report.c.id == table.c.report_id)
        values.update(connection.execute(wanted.where(condition)).scalars())
    return known_values(values)
