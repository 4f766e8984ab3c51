"""The connections to a ledger: transactions that begin when we say so, and last once they end."""

from __future__ import annotations

import errno
import os
import time
from typing import Any, Final

from sqlalchemy import URL, Connection, Engine, create_engine, event
from sqlalchemy.exc import DBAPIError, OperationalError

from closeout.depot.address import DRIVER, hide_password
from closeout.depot.failure import LedgerError

PATIENCE: Final = 120
"""Seconds that one command waits for another that writes."""
SETTINGS: Final = ("foreign_keys = ON", "synchronous = FULL", f"busy_timeout = {PATIENCE * 1000}")
WRITES: Final = "writes"
WRITERS_LOCK: Final = 0x636C6F73
"""The number of the lock that writers of one PostgreSQL ledger take in turn; any number will do."""
ON_DISK: Final = (
    "SELECT set_config('synchronous_commit', 'on', true)"
    " WHERE current_setting('synchronous_commit') = 'off'"
)
"""A server may be set to answer before a transaction is on its disk; what is told must be there."""
NEEDED: Final = "a ledger on PostgreSQL needs the library psycopg: install closeout[postgres]"
RUN_AGAIN: Final = "what was said to be kept is kept; run the same command again"
SQLITE_MEANINGS: Final = (
    ("database or disk is full", f"the disk is full; free some space: {RUN_AGAIN}"),
    ("disk I/O error", f"the disk takes no more, or reports an error: {RUN_AGAIN}"),
    ("database is locked", "another command has been writing in it for too long; try again"),
    ("file is not a database", "no ledger, but a file of another kind"),
    ("unable to open database file", "cannot be opened; check path and rights"),
    ("readonly database", "may not be written; check the rights of file and folder"),
    ("malformed", "damaged; restore a backup"),
)


def open_engine(url: URL) -> Engine:
    """An engine whose transactions are whole ones; nothing is connected yet."""
    try:
        if url.drivername == DRIVER:
            engine = create_engine(url, pool_pre_ping=False)
            event.listen(engine, "begin", _begin_on_server)
        else:
            engine = create_engine(url, connect_args={"timeout": PATIENCE})
            event.listen(engine, "connect", _prepare_file)
            event.listen(engine, "begin", _begin_on_file)
    except ImportError:
        raise LedgerError(NEEDED) from None
    return engine


def _prepare_file(connection: Any, _record: object) -> None:  # noqa: ANN401 - of the driver
    """SQLite as it has to be: on disk once committed, and BEGIN left to us."""
    connection.isolation_level = None
    for setting in SETTINGS:
        connection.execute(f"PRAGMA {setting}")


def _begin_on_file(connection: Connection) -> None:
    """Who will write says so at once: a reader that becomes a writer may find another before it."""
    options = connection.get_execution_options()
    if options.get("isolation_level") == "AUTOCOMMIT":
        return
    is_writer = options.get(WRITES)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if is_writer else "BEGIN")


def _begin_on_server(connection: Connection) -> None:
    """One state of the ledger for who reads; one writer after the other."""
    options = connection.get_execution_options()
    if options.get("isolation_level") == "AUTOCOMMIT":
        return
    if options.get(WRITES):
        connection.exec_driver_sql(ON_DISK)
        connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({WRITERS_LOCK})")
    else:
        connection.exec_driver_sql("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")


def keep_journal_ahead(engine: Engine) -> None:
    """Writes go to a journal beside the file, so that who reads never waits for who writes.

    Asked for once, since the file remembers; two that ask at once would not wait for each other.
    """
    until = time.monotonic() + PATIENCE
    while True:
        try:
            run_alone(engine, "PRAGMA journal_mode = WAL")
        except OperationalError as failure:
            if "locked" not in str(failure.orig) or time.monotonic() > until:
                raise
            time.sleep(0.05)
        else:
            return


def leave_one_file(engine: Engine) -> None:
    """Everything is in the file itself, and nothing beside it: it can be carried elsewhere."""
    run_alone(engine, "PRAGMA journal_mode = DELETE")


def run_alone(engine: Engine, *statements: str) -> list[tuple[Any, ...]]:
    """Statements outside of any transaction, which some of SQLite and PostgreSQL have to be.

    The first row that each of them answers; raises DBAPIError.
    """
    with engine.connect() as connection:
        alone = connection.execution_options(isolation_level="AUTOCOMMIT")
        answers: list[tuple[Any, ...]] = []
        for statement in statements:
            result = alone.exec_driver_sql(statement)
            if result.returns_rows:
                answers.append(tuple(result.first() or ()))
        return answers


def meaning_of(failure: DBAPIError, url: URL) -> str:
    """What went wrong with the database, in words, on one line."""
    told = hide_password(str(failure.orig), url)
    for sign, meaning in SQLITE_MEANINGS if url.drivername == "sqlite" else ():
        if sign in told:
            return meaning
    if url.drivername == DRIVER and isinstance(failure, OperationalError):
        return f"the server cannot be reached, or went away ({told}): {RUN_AGAIN}"
    return told


def make_private(path: str) -> None:
    """An empty file that its owner alone may read: it will hold personal things."""
    try:
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
    except FileExistsError:
        return
    except OSError as failure:
        why = "no such folder" if failure.errno == errno.ENOENT else failure.strerror
        raise LedgerError(f"{path}: cannot be made: {why}; check path and rights") from failure
