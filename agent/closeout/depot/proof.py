"""Whether anything of a forgotten unit is left: the ledger made anew, and searched."""

from __future__ import annotations

import mmap
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Final

from sqlalchemy import String, Table, Text, false, func, or_, select

from closeout.depot.engine import run_alone
from closeout.depot.failure import LedgerError
from closeout.depot.forget import Removed
from closeout.depot.ledger import Ledger
from closeout.depot.tables import tables
from closeout.depot.tokens import SHORTEST
from closeout.model.frozen import frozen

BESIDE: Final = ("", "-wal", "-journal", "-shm")
"""What the database writes: the file, and the journals beside it."""
ENCODINGS: Final = ("utf-8", "utf-16-le", "utf-16-be")
SHORTEST_RAW: Final = 6
BUSY: Final = (
    "taken out of the tables; but another command is still reading an older state, which stays in"
    " the journal: end it, then run `closeout depot forget --sweep`"
)


@frozen
class Searched:
    """Where was searched, for how many spellings, and what was found, as words."""

    places: tuple[str, ...]
    spellings: int
    pieces: int
    found: tuple[str, ...]


def sweep(ledger: Ledger) -> None:
    """The whole ledger written anew, so that no page keeps what was deleted. Raises LedgerError."""
    with ledger.named_trouble():
        if ledger.is_file:
            run_alone(ledger.engine, "VACUUM")
            (is_busy, *_), *_ = run_alone(ledger.engine, "PRAGMA wal_checkpoint(TRUNCATE)")
            if is_busy:
                raise LedgerError(f"{ledger.name}: {BUSY}")
        else:
            for table in tables.sorted_tables:
                run_alone(ledger.engine, f'VACUUM (FULL) "{table.name}"')


def search(ledger: Ledger, removed: Removed) -> Searched:
    """What is left of the unit, wherever we can look: in the file, or in a server's tables."""
    values = removed.values - removed.elsewhere
    return (
        _search_file(ledger, values, removed) if ledger.is_file else _search_tables(ledger, values)
    )


def _search_file(ledger: Ledger, values: frozenset[str], removed: Removed) -> Searched:
    needles = {raw: value for value in values for raw in spellings_of(value)}
    pieces = dict.fromkeys(removed.pieces, "bytes of a file that was kept")
    places: list[str] = []
    found: list[str] = []
    for ending in BESIDE:
        path = ledger.file.with_name(ledger.file.name + ending)
        if path.is_file():
            places.append(f"{path} ({path.stat().st_size} bytes)")
            found.extend(f"{what} in {path}" for what in _found_in(path, needles | pieces))
    return Searched(
        places=tuple(places),
        spellings=len(needles),
        pieces=len(pieces),
        found=tuple(sorted(set(found))),
    )


def spellings_of(value: str) -> Iterator[bytes]:
    """A value as bytes of a file could hold it: in both cases, wide, without marks, as numbers."""
    bare = "".join(letter for letter in value if letter.isalnum())
    is_number = any(mark in value for mark in ":-") and not len(bare) % 2
    for text in {value, value.upper(), value.lower(), bare.upper(), bare.lower()}:
        if len(text) >= SHORTEST:  # a shorter one would be found by chance
            yield from (text.encode(encoding) for encoding in ENCODINGS)
    try:
        raw = bytes.fromhex(bare) if is_number else b""
    except ValueError:
        return
    if len(raw) >= SHORTEST_RAW:
        yield raw


def _found_in(path: Path, needles: Mapping[bytes, str]) -> Iterator[str]:
    if not path.stat().st_size:
        return
    with path.open("rb") as stream, mmap.mmap(stream.fileno(), 0, access=mmap.ACCESS_READ) as whole:
        for needle, what in needles.items():
            if whole.find(needle) >= 0:
                yield what


def _search_tables(ledger: Ledger, values: frozenset[str]) -> Searched:
    """A server's files are not ours to read; its tables are."""
    found: list[str] = []
    with ledger.reading() as connection:
        for table in tables.sorted_tables:
            for name in _texts_of(table):
                column = func.upper(table.c[name])
                holds = or_(
                    false(), *(column.contains(value.upper(), autoescape=True) for value in values)
                )
                wanted = select(func.count()).select_from(table).where(holds)
                if values and connection.execute(wanted).scalar():
                    found.append(f"a value in {table.name}.{name}")
    names = tuple(f"table {table.name}" for table in tables.sorted_tables)
    return Searched(places=names, spellings=len(values), pieces=0, found=tuple(found))


def _texts_of(table: Table) -> Iterator[str]:
    for column in table.columns:
        if isinstance(column.type, String | Text):
            yield column.name
