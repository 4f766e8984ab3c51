"""Rows as CSV (RFC 4180) that a spreadsheet takes for text and nothing else."""

from __future__ import annotations

import csv
from collections.abc import Iterable
from pathlib import Path
from typing import Final

from closeout.depot.facts import Row

FORMULA: Final = tuple("=+-@\t\r\n|%＝＋－＠")  # noqa: RUF001 - the wide ones count too
"""How a cell begins that a spreadsheet would work out, or a shell behind it run."""
GUARD: Final = "'"


def guard(value: object) -> object:
    """A text that begins like a formula with an apostrophe in front; all else as it is."""
    return f"{GUARD}{value}" if isinstance(value, str) and value.startswith(FORMULA) else value


def write_csv(path: Path, names: Iterable[str], batches: Iterable[list[Row]]) -> int:
    """The number of rows written."""
    columns = list(names)
    count = 0
    with path.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow(columns)
        for rows in batches:
            count += len(rows)
            writer.writerows([guard(row[name]) for name in columns] for row in rows)
    return count
