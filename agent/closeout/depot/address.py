"""Where a ledger is: a file of SQLite by its path, or a PostgreSQL server by its URL."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from sqlalchemy import URL, make_url
from sqlalchemy.exc import ArgumentError

from closeout.depot.failure import LedgerError

SERVER: Final = "postgresql"
DRIVER: Final = f"{SERVER}+psycopg"
ALLOWED: Final = f"a path, or {SERVER}://USER@HOST/NAME"


def read_address(text: str, folder: Path) -> URL:
    """The address of a ledger; a path is relative to the folder.

    Raises LedgerError, which shows nothing of what may be a password.
    """
    if "://" not in text:
        return URL.create("sqlite", database=str(folder / text))
    try:
        url = make_url(text)
    except (ArgumentError, ValueError):
        raise LedgerError(f"--ledger: no address of a ledger; allowed: {ALLOWED}") from None
    if url.drivername in {SERVER, "postgres", DRIVER}:
        return url.set(drivername=DRIVER)
    if url.drivername == "sqlite" and url.database:
        return URL.create("sqlite", database=str(folder / url.database))
    raise LedgerError(f"--ledger: {url.drivername}:// is not known; allowed: {ALLOWED}")


def show_address(url: URL) -> str:
    """The address for people: the path, or the URL without its password."""
    if url.drivername == "sqlite":
        return str(url.database)
    return url.set(drivername=SERVER, query={}).render_as_string(hide_password=True)


def hide_password(text: str, url: URL) -> str:
    """A text of a library, on one line, without the password that it may hold."""
    line = " ".join(text.split())
    return line.replace(str(url.password), "***") if url.password else line
