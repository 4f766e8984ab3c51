"""A whole copy of an SQLite file while others use it, put in place only once it is complete."""

from __future__ import annotations

import errno
import os
import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Final

from closeout.depot.engine import PATIENCE, make_private
from closeout.depot.failure import LedgerError
from closeout.depot.ledger import Ledger

PAGES_AT_ONCE: Final = 4096
DAMAGED: Final = "damaged, and a copy of it would be too: nothing was written; restore a backup"


def copy_file(ledger: Ledger, target: Path) -> None:
    """The ledger's file as another, by SQLite's online backup. Raises LedgerError."""

    def fill(hidden: Path) -> None:
        source = sqlite3.connect(f"file:{_quoted(ledger.file)}?mode=ro", uri=True, timeout=PATIENCE)
        copy = sqlite3.connect(hidden)
        try:
            source.execute("BEGIN")
            source.execute("SELECT count(*) FROM sqlite_master")  # one state, or it begins anew
            source.backup(copy, pages=PAGES_AT_ONCE)
            copy.execute("PRAGMA journal_mode = DELETE")  # one file, nothing beside it
            _refuse_damaged(ledger, copy)
        finally:
            copy.close()
            source.close()

    put_whole(target, fill)


def _refuse_damaged(ledger: Ledger, copy: sqlite3.Connection) -> None:
    """A copy of a damaged ledger would be believed in until the day that it is needed."""
    (told, *_) = copy.execute("PRAGMA quick_check(1)").fetchone()
    if told != "ok":
        raise LedgerError(f"{ledger.name}: {DAMAGED} ({' '.join(str(told).split())})")


def put_whole(target: Path, fill: Callable[[Path], None]) -> None:
    """A new file, written under a hidden name, flushed, and only then given its own.

    Raises LedgerError, and leaves nothing, where it is there already or cannot be written.
    """
    if os.path.lexists(target):
        raise LedgerError(f"{target}: it is there already, and nothing is overwritten")
    hidden = target.with_name(f".{target.name}.{os.urandom(4).hex()}.part")
    try:
        make_private(str(hidden))
        fill(hidden)
        _flush(hidden)
        _give_name(hidden, target)
        _flush(target.parent)
    except LedgerError as failure:
        raise LedgerError(str(failure).replace(str(hidden), str(target))) from failure
    except FileExistsError as failure:
        raise LedgerError(f"{target}: it is there already, and nothing is overwritten") from failure
    except (OSError, sqlite3.Error) as failure:
        raise LedgerError(f"{target}: cannot be written: {failure}") from failure
    finally:
        for name in (
            hidden,
            *(hidden.with_name(hidden.name + end) for end in ("-journal", "-wal")),
        ):
            name.unlink(missing_ok=True)


def _give_name(hidden: Path, target: Path) -> None:
    """Link, which never overwrites; rename where a stick's file system has no links."""
    try:
        os.link(hidden, target)
    except OSError as failure:
        if failure.errno not in {errno.EPERM, errno.EOPNOTSUPP, errno.ENOSYS}:
            raise
        hidden.rename(target)


def _flush(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _quoted(path: Path) -> str:
    from urllib.parse import quote  # noqa: PLC0415 - only where a file is copied

    return quote(str(path.resolve()))
