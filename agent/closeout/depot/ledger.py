"""A ledger that is open: it reads one state of everything, and writes whole transactions."""

from __future__ import annotations

from collections.abc import Generator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from sqlalchemy import URL, Connection, Engine
from sqlalchemy.exc import DBAPIError

from closeout.depot import version
from closeout.depot.address import DRIVER, show_address
from closeout.depot.engine import (
    WRITES,
    keep_journal_ahead,
    make_private,
    meaning_of,
    open_engine,
)
from closeout.depot.failure import LedgerError

NONE_THERE: Final = "no ledger there; `closeout depot add` makes one, --ledger names another"


class Ledger:
    """The tables at an address."""

    def __init__(self, url: URL) -> None:
        self.url = url
        self.engine: Engine = open_engine(url)

    @property
    def is_file(self) -> bool:
        """One file of SQLite, and no server."""
        return self.url.drivername != DRIVER

    @property
    def file(self) -> Path:
        """Where the file is."""
        return Path(str(self.url.database))

    @property
    def name(self) -> str:
        """What people call it; never with a password."""
        return show_address(self.url)

    @contextmanager
    def reading(self) -> Generator[Connection]:
        """One state of everything, whoever writes meanwhile. Raises LedgerError."""
        with self.named_trouble(), self.engine.connect() as connection, connection.begin():
            yield connection

    @contextmanager
    def writing(self) -> Generator[Connection]:
        """All of it or nothing, and on the disk when the block is left. Raises LedgerError."""
        with self.named_trouble(), self.engine.connect() as connection:
            writer = connection.execution_options(**{WRITES: True})
            with writer.begin():
                yield writer

    @contextmanager
    def named_trouble(self) -> Generator[None]:
        """What the database cannot do, as one line that begins with its name."""
        try:
            yield
        except DBAPIError as failure:
            raise LedgerError(f"{self.name}: {meaning_of(failure, self.url)}") from failure

    def close(self) -> None:
        """Lets go of the file or the server."""
        self.engine.dispose()


def make_ledger(url: URL, steps: Path = version.STEPS) -> Ledger:
    """The ledger at the address, made where there is none. Raises LedgerError."""
    ledger = Ledger(url)
    if ledger.is_file:
        make_private(str(ledger.file))
    _bring_up(ledger, steps, may_make=True)
    return ledger


def open_ledger(url: URL, steps: Path = version.STEPS) -> Ledger:
    """The ledger that is at the address. Raises LedgerError where there is none."""
    ledger = Ledger(url)
    if ledger.is_file and not ledger.file.is_file():
        raise LedgerError(f"{ledger.name}: {NONE_THERE}")
    _bring_up(ledger, steps, may_make=False)
    return ledger


def _bring_up(ledger: Ledger, steps: Path, *, may_make: bool) -> None:
    """Makes tables, or brings older ones up; every trouble is one line with the ledger's name."""
    try:
        _make_current(ledger, steps, may_make=may_make)
    except LedgerError as error:
        ledger.close()
        known = str(error).removeprefix(f"{ledger.name}: ")
        raise LedgerError(f"{ledger.name}: {known}") from error


def _make_current(ledger: Ledger, steps: Path, *, may_make: bool) -> None:
    """All steps in one transaction; looks before it writes."""
    with ledger.reading() as connection:
        found = version.read_version(connection)
    if not found and not may_make:
        raise LedgerError(NONE_THERE)
    if found and not version.is_older(found, steps):
        return
    if ledger.is_file:
        keep_a_copy(ledger, found)
        with ledger.named_trouble():
            keep_journal_ahead(ledger.engine)
    with ledger.writing() as connection:
        if version.read_version(connection) == found:  # nobody else was quicker
            version.bring_up(connection, steps)


def keep_a_copy(ledger: Ledger, found: str) -> None:
    """The older ledger as it was, beside the file, before its tables change."""
    if not found:
        return
    from closeout.depot.file_copy import copy_file  # noqa: PLC0415 - an upgrade is rare

    copy = ledger.file.with_name(f"{ledger.file.name}.version-{found}")
    if not copy.exists():
        copy_file(ledger, copy)
