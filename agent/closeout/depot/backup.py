"""A whole copy of a ledger, and an empty ledger filled from it.

A backup is a ledger itself, one file of SQLite, whatever it was made of: SQLite's own online backup
copies a file page by page, and a server's tables are copied row by row in one state of all of them.
It can be opened where it lies, and be restored into either kind of database.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, Final

from sqlalchemy import URL, Connection, Table, func, insert, select

from closeout.depot.address import read_address
from closeout.depot.engine import leave_one_file
from closeout.depot.examine import unpack
from closeout.depot.failure import LedgerError, RefusalError
from closeout.depot.file_copy import copy_file, put_whole
from closeout.depot.ledger import NONE_THERE, Ledger, make_ledger
from closeout.depot.tables import content, tables
from closeout.depot.version import is_older, read_version

AT_ONCE: Final = 500
OF_CONTENT: Final = 100
NOT_EMPTY: Final = "there are rows in its table {name}; a backup is restored into an empty ledger"
OLDER: Final = (
    "a backup of an older version: it is a ledger, so name it by --ledger once, or a copy"
)
INCOMPLETE: Final = "the backup is damaged: {why}; nothing was restored"


def make_backup(ledger: Ledger, target: Path) -> dict[str, int]:
    """The number of rows of each table that are in the backup. Raises LedgerError."""
    if ledger.is_file:
        copy_file(ledger, target)
    else:
        put_whole(target, lambda hidden: _fill_from_server(ledger, hidden))
    copy = open_backup(target)
    try:
        with copy.reading() as connection:
            return count_rows(connection)
    finally:
        copy.close()


def _fill_from_server(ledger: Ledger, hidden: Path) -> None:
    """Committed piece by piece: the file has no name yet, and a long journal would double it."""
    copy = make_ledger(read_address(str(hidden), hidden.parent))
    try:
        with ledger.reading() as source:
            for table, rows in _all_rows(source):
                with copy.writing() as target:
                    target.execute(insert(table), rows)
        with copy.named_trouble():
            leave_one_file(copy.engine)
    finally:
        copy.close()


def restore(file: Path, url: URL) -> dict[str, int]:
    """The number of rows of each table, all of them in the ledger at the address or none.

    Raises LedgerError, also where the ledger is not empty, or a byte of the backup is not as kept.
    """
    source = open_backup(file)
    target = make_ledger(url)
    try:
        with source.reading() as reader, target.writing() as writer:
            _refuse_filled(writer, target)
            for table, rows in _all_rows(reader):
                if table is content:
                    _prove(rows)
                writer.execute(insert(table), rows)
            counts = count_rows(writer)
            if counts != count_rows(reader):
                raise LedgerError(INCOMPLETE.format(why="its tables are longer than what was read"))
    finally:
        source.close()
        target.close()
    return counts


def open_backup(file: Path) -> Ledger:
    """The backup as a ledger that is only read. Raises LedgerError."""
    if not file.is_file():
        raise LedgerError(f"{file}: no such file; give a backup that was made by `depot backup`")
    backup = Ledger(read_address(str(file), file.parent))
    try:
        _refuse_other_versions(backup)
    except LedgerError:
        backup.close()
        raise
    return backup


def _refuse_other_versions(backup: Ledger) -> None:
    with backup.reading() as connection:
        found = read_version(connection)
    if not found:
        raise LedgerError(f"{backup.name}: {NONE_THERE}")
    if is_older(found):
        raise LedgerError(f"{backup.name}: {OLDER}")


def count_rows(connection: Connection) -> dict[str, int]:
    """How many rows each table has."""
    return {
        table.name: connection.execute(select(func.count()).select_from(table)).scalar() or 0
        for table in tables.sorted_tables
    }


def _refuse_filled(connection: Connection, ledger: Ledger) -> None:
    for name, count in count_rows(connection).items():
        if count:
            raise LedgerError(f"{ledger.name}: {NOT_EMPTY.format(name=name)}")


def _all_rows(connection: Connection) -> Iterator[tuple[Table, Sequence[Mapping[str, Any]]]]:
    """Every row, tables in the order in which they lean on each other, some rows at a time."""
    for table in tables.sorted_tables:
        size = OF_CONTENT if table is content else AT_ONCE
        streamed = connection.execution_options(stream_results=True, yield_per=size)
        ordered = select(table).order_by(*table.primary_key.columns)
        for rows in streamed.execute(ordered).mappings().partitions(size):
            yield table, [dict(row) for row in rows]


def _prove(rows: Sequence[Mapping[str, Any]]) -> None:
    try:
        for row in rows:
            unpack(row["packed"], row["digest"])
    except RefusalError as refusal:
        raise LedgerError(INCOMPLETE.format(why=refusal)) from refusal
