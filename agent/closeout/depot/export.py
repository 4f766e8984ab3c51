"""The index as files for other programs: a folder a table, in it a folder a month.

`report/month=2026-11/part-0.parquet`, and the tables of its findings, steps, parts and identities
with the month of their report. All of it is of one state of the ledger, and is put in place whole.
"""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Callable
from contextlib import ExitStack
from pathlib import Path
from typing import Final

from sqlalchemy import Connection, Table

from closeout.depot.columns import batches_of, months_of
from closeout.depot.csv_file import write_csv
from closeout.depot.failure import LedgerError
from closeout.depot.ledger import Ledger
from closeout.depot.parquet_file import write_parquet
from closeout.depot.remnants import clear_remnants, held, name_hidden
from closeout.depot.tables import INDEX_TABLES
from closeout.depot.tokens import Tokens
from closeout.model.frozen import frozen

MARK: Final = "_closeout-export.json"
"""Tells our folders from others; readers of such folders pass over names that begin so."""
FORMAT: Final = 1
PRIVATE: Final = 0o700
"""Serials and addresses are in it: for its owner alone, as the ledger is."""
NOTHING: Final = "there are no reports in it to export"
NO_EXPORT: Final = "it is there and is no export: nothing is overwritten"
CANNOT: Final = "cannot be written: {why}"


@frozen
class Form:
    """How an export is written: as CSV or Parquet, with tokens or as it is."""

    as_csv: bool = False
    tokens: Tokens | None = None


def export(ledger: Ledger, folder: Path, form: Form, tell: Callable[[str], None]) -> dict[str, int]:
    """The number of rows of each table, all of them in the folder. Raises LedgerError.

    An export that is there is replaced by the new one when that is whole; what killed ones left
    is removed first.
    """
    clear_remnants(folder, MARK)
    if os.path.lexists(folder) and not (folder / MARK).is_file() and not _is_empty(folder):
        raise LedgerError(f"{folder}: {NO_EXPORT}")
    hidden, old = name_hidden(folder)
    try:
        hidden.parent.mkdir(parents=True, exist_ok=True)
        hidden.mkdir(mode=PRIVATE)
        with held(hidden), ledger.reading() as connection:
            counts = _write_all(connection, hidden, form, tell)
            _write_mark(hidden, form, counts)
            _flush_all(hidden)
            _put_in_place(hidden, folder, old)
    except OSError as failure:
        why = failure.strerror or str(failure)
        raise LedgerError(f"{folder}: {CANNOT.format(why=why)}") from failure
    finally:
        shutil.rmtree(hidden, ignore_errors=True)
        shutil.rmtree(old, ignore_errors=True)
    return counts


def _put_in_place(hidden: Path, folder: Path, old: Path) -> None:
    with ExitStack() as kept:
        if folder.exists():
            kept.enter_context(held(folder))
            folder.rename(old)
        hidden.rename(folder)
    _flush(folder.parent)


def _write_all(
    connection: Connection, folder: Path, form: Form, tell: Callable[[str], None]
) -> dict[str, int]:
    months = months_of(connection)
    if not months:
        raise LedgerError(NOTHING)
    counts = dict.fromkeys((table.name for table in INDEX_TABLES), 0)
    for month in months:
        tell(month)
        for table in INDEX_TABLES:
            counts[table.name] += _write_month(connection, folder, table, month, form)
    return counts


def _write_month(connection: Connection, folder: Path, table: Table, month: str, form: Form) -> int:
    place = folder / table.name / f"month={month}"
    place.mkdir(parents=True)
    batches = batches_of(connection, table, month, form.tokens)
    if form.as_csv:
        return write_csv(place / "part-0.csv", table.columns.keys(), batches)
    return write_parquet(place / "part-0.parquet", table, batches)


def _write_mark(folder: Path, form: Form, counts: dict[str, int]) -> None:
    told = {
        "export": FORMAT,
        "files": "csv" if form.as_csv else "parquet",
        "is_hidden": form.tokens is not None,
        "rows": counts,
    }
    (folder / MARK).write_text(json.dumps(told, indent=1) + "\n", encoding="utf-8")


def _is_empty(folder: Path) -> bool:
    return folder.is_dir() and not any(folder.iterdir())


def _flush_all(folder: Path) -> None:
    for place, _, names in os.walk(folder):
        for name in names:
            _flush(Path(place, name))
        _flush(Path(place))


def _flush(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
