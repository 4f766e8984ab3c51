"""Rows as CSV (RFC 4180) that no spreadsheet takes for anything but text and numbers."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Sequence
from io import StringIO

from closeout.depot.csv_file import FORMULA, GUARD, guard
from closeout.report.foreign import make_safe


def render_csv(head: Sequence[str], rows: Iterable[Sequence[object]]) -> bytes:
    """The table as UTF-8; every text is made safe and quoted."""
    stream = StringIO(newline="")
    writer = csv.writer(stream, quoting=csv.QUOTE_NONNUMERIC, lineterminator="\r\n")
    writer.writerow(head)
    for row in rows:
        writer.writerow([_cell(value) for value in row])
    return stream.getvalue().encode("utf-8")


def _cell(value: object) -> object:
    """A number as it is; a text that would begin a formula behind an apostrophe."""
    if isinstance(value, int | float):
        return value
    text = str(value)
    safe = make_safe(text)
    return f"{GUARD}{safe}" if text.startswith(FORMULA) else guard(safe)
