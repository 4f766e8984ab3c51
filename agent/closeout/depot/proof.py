"""Whether anything of a forgotten unit is left: the ledger made anew, and searched."""

from __future__ import annotations

import mmap
import zlib
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Final

from sqlalchemy import Connection, String, Table, Text, false, func, or_, select
from sqlalchemy import text as statement
from sqlalchemy.exc import DBAPIError

from closeout.depot.address import hide_password
from closeout.depot.engine import run_alone
from closeout.depot.examine import GZIP, LARGEST_EVIDENCE
from closeout.depot.failure import LedgerError
from closeout.depot.forget import VALUES_AT_ONCE, Removed, parts_of
from closeout.depot.ledger import Ledger
from closeout.depot.tables import belonging, content, report, tables
from closeout.depot.tokens import SHORTEST
from closeout.model.frozen import frozen, replace

BESIDE: Final = ("", "-wal", "-journal", "-shm")
"""What the database writes: the file, and the journals beside it."""
OLDER: Final = ".version-"
"""Behind the ledger's name in that of a copy of an older version."""
HIDDEN, UNFINISHED = ".", ".part"
"""Before and behind the ledger's name in that of a copy that was killed on its way."""
KEPT_AT_ONCE: Final = 100
GZIP_MARK: Final = b"\x1f\x8b"
STATISTICS: Final = statement(
    "SELECT tablename, attname, concat(most_common_vals::text, histogram_bounds::text) AS held"
    " FROM pg_stats WHERE schemaname = current_schema()"
)
"""Values of the columns, which the server keeps to plan its work by."""
ENCODINGS: Final = ("utf-8", "utf-16-le", "utf-16-be")
SHORTEST_RAW: Final = 6
BUSY: Final = (
    "taken out of the tables; but another command is still reading an older state, which stays in"
    " the journal: end it, then run `closeout depot forget --sweep`"
)
UNSWEPT: Final = (
    "taken out of the tables; but the ledger could not be written anew ({why}), so its bytes may"
    " still be there: end what is in the way, then run `closeout depot forget --sweep`"
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
    try:
        _write_anew(ledger)
    except DBAPIError as failure:
        why = hide_password(str(failure.orig), ledger.url)
        raise LedgerError(f"{ledger.name}: {UNSWEPT.format(why=why)}") from failure


def _write_anew(ledger: Ledger) -> None:
    if ledger.is_file:
        run_alone(ledger.engine, "VACUUM")
        (is_busy, *_), *_ = run_alone(ledger.engine, "PRAGMA wal_checkpoint(TRUNCATE)")
        if is_busy:
            raise LedgerError(f"{ledger.name}: {BUSY}")
    else:
        for table in tables.sorted_tables:
            run_alone(ledger.engine, f'VACUUM (FULL, ANALYZE) "{table.name}"')
        _drop_old_statistics(ledger)


def _drop_old_statistics(ledger: Ledger) -> None:
    """Of an empty table the server keeps what it counted before; a column set anew has none."""
    with ledger.writing() as connection:
        for table in tables.sorted_tables:
            if connection.execute(select(table).limit(1)).first() is None:
                for name in _texts_of(table):
                    kind = table.c[name].type.compile(connection.dialect)
                    change = f'ALTER TABLE "{table.name}" ALTER COLUMN "{name}" TYPE {kind}'
                    connection.exec_driver_sql(change)


def _tell_nobody(_done: int, _count: int) -> None:
    pass


def search(
    ledger: Ledger, removed: Removed, tell: Callable[[int, int], None] = _tell_nobody
) -> Searched:
    """What is left of the unit, wherever we can look: in the file, or in a server's tables.

    And in what is kept of other units, unpacked: a report names whatever was on the bench. That
    takes a minute for some ten thousand reports; `tell` is told how many files of how many.
    """
    values = removed.values - removed.elsewhere
    raw = (
        _search_file(ledger, values, removed) if ledger.is_file else _search_tables(ledger, values)
    )
    with ledger.reading() as connection:
        count = connection.execute(select(func.count()).select_from(content)).scalar() or 0
        kept = tuple(sorted(_found_in_kept(connection, values, lambda done: tell(done, count))))
    places = (*raw.places, f"{count} kept files, unpacked")
    return replace(raw, places=places, found=(*raw.found, *kept))


def _search_file(ledger: Ledger, values: frozenset[str], removed: Removed) -> Searched:
    needles = {raw: value for value in values for raw in spellings_of(value)}
    pieces = dict.fromkeys(removed.pieces, "bytes of a file that was kept")
    places: list[str] = []
    found: list[str] = []
    for path in _files_of(ledger.file):
        places.append(f"{path} ({path.stat().st_size} bytes)")
        found.extend(f"{what} in {path}" for what in _found_in(path, needles | pieces))
    return Searched(
        places=tuple(places),
        spellings=len(needles),
        pieces=len(pieces),
        found=tuple(sorted(set(found))),
    )


def _files_of(file: Path) -> Iterator[Path]:
    """The ledger's file, its journals, and the copies that we ourselves lay beside it."""
    yield from (path for ending in BESIDE if (path := file.with_name(file.name + ending)).is_file())
    for path in sorted(file.parent.iterdir()):
        is_older = path.name.startswith(file.name + OLDER)
        is_unfinished = path.name.startswith(HIDDEN + file.name) and path.suffix == UNFINISHED
        if (is_older or is_unfinished) and path.is_file():
            yield path


def _found_in_kept(
    connection: Connection, values: frozenset[str], tell: Callable[[int], None]
) -> Iterator[str]:
    """Values that stand in the files of other reports, each with the unit that it is of."""
    cases = ((value, case) for value in values for case in (value.lower(), value.upper()))
    needles = {case.encode().lower(): value for value, case in cases}
    streamed = connection.execution_options(stream_results=True, yield_per=KEPT_AT_ONCE)
    hits: list[tuple[str, str]] = []
    wanted = select(content.c.digest, content.c.packed)
    for done, (digest, packed) in enumerate(streamed.execute(wanted), start=1):
        if done % KEPT_AT_ONCE == 0:
            tell(done)
        plain = _plain(packed)
        hits.extend((digest, value) for needle, value in needles.items() if needle in plain)
    for digest, value in dict.fromkeys(hits):
        own = select(report.c.unit, belonging.c.name).join_from(report, belonging)
        for unit, name in connection.execute(own.where(belonging.c.digest == digest)):
            yield f"{value} in {name} of {unit}, which names it: only forgetting that unit ends it"


def _plain(packed: bytes) -> bytes:
    """What is in a kept file, in small letters; as far as it unpacks."""
    try:
        raw = zlib.decompress(packed)
        if raw.startswith(GZIP_MARK):
            raw = zlib.decompressobj(GZIP).decompress(raw, LARGEST_EVIDENCE)
    except zlib.error:
        return packed.lower()
    return raw.lower()


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
    """A server's files are not ours to read; its tables are, and what it counted of them."""
    found: set[str] = set()
    with ledger.reading() as connection:
        for table in tables.sorted_tables:
            for name in _texts_of(table):
                if _is_in_column(connection, table, name, values):
                    found.add(f"a value in {table.name}.{name}")
        for row in connection.execute(STATISTICS):
            if any(value in str(row.held).upper() for value in values):
                found.add(f"a value in the statistics of {row.tablename}.{row.attname}")
    names = (*(f"table {table.name}" for table in tables.sorted_tables), "their statistics")
    return Searched(places=names, spellings=len(values), pieces=0, found=tuple(sorted(found)))


def _is_in_column(connection: Connection, table: Table, name: str, values: frozenset[str]) -> bool:
    column = func.upper(table.c[name])
    for some in parts_of(sorted(values), VALUES_AT_ONCE):
        holds = or_(false(), *(column.contains(value, autoescape=True) for value in some))
        if connection.execute(select(func.count()).select_from(table).where(holds)).scalar():
            return True
    return False


def _texts_of(table: Table) -> Iterator[str]:
    for column in table.columns:
        if isinstance(column.type, String | Text):
            yield column.name
