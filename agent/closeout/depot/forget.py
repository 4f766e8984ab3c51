"""A unit taken out of the ledger, and old reports made nobody's."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, Final

from sqlalchemy import (
    ColumnElement,
    Connection,
    bindparam,
    delete,
    false,
    func,
    insert,
    or_,
    select,
    update,
)

from closeout.depot.columns import values_of
from closeout.depot.facts import Row
from closeout.depot.ledger import Ledger
from closeout.depot.own_reports import reports_of
from closeout.depot.tables import (
    belonging,
    content,
    finding,
    forgotten,
    identity,
    part,
    report,
    set_aside,
    step,
)
from closeout.depot.tokens import Tokens, known_values
from closeout.model.frozen import frozen

AT_ONCE: Final = 500
VALUES_AT_ONCE: Final = 200
"""Conditions in one question: SQLite takes no more than a thousand that are joined."""
CHILDREN: Final = (finding, step, part, identity, belonging)
EARLIEST: Final = 1_767_225_600
"""The first second of 2026: no report was written before; a clock that says so was not set."""
LATE: Final = 86_400
"""Seconds by which a clock may be ahead of ours."""
PAST: Final = "past"
"""In front of the unit of a report that is too old to be anybody's."""
OF_REPORT: Final = ("unit", "board", "label_serial", "work_order")
OF_FINDING: Final = ("subject", "label", "expected", "found", "connection")
OF_STEP: Final = ("title", "action")
PIECE: Final = 24
"""Bytes of a deflated file that are looked for: no chance puts so many in a row."""
BETWEEN_PIECES: Final = 2048
FIRST_PIECE: Final = 64
MOST_PIECES: Final = 8


@frozen
class Removed:
    """What was taken out: of how many reports and files, and by what it would be known again.

    `values` are the unit's serials and addresses, `pieces` some of the bytes of each deflated file.
    `elsewhere` are those values that other units have too.
    """

    reports: int
    files: int
    values: frozenset[str]
    pieces: tuple[bytes, ...]
    elsewhere: frozenset[str] = frozenset()


def forget_unit(ledger: Ledger, unit: str, reason: str, now: int) -> Removed:
    """All of the unit's rows and bytes gone, in one transaction; only digests stay behind."""
    with ledger.writing() as connection:
        _erase_what_is_freed(connection, ledger)
        wanted = select(report.c.id, report.c.digest).where(reports_of(unit))
        rows = connection.execute(wanted).all()
        numbers = [row.id for row in rows]
        values = _values_of_reports(connection, numbers)
        files, pieces = _drop_files(connection, numbers)
        for table in CHILDREN:
            _delete_of(connection, table, numbers)
        for some in parts_of(numbers):
            connection.execute(delete(report).where(report.c.id.in_(some)))
        _note(connection, [row.digest for row in rows], reason, now)
        _drop_set_aside(connection, values)
        elsewhere = values & _values_left(connection, values)
    return Removed(
        reports=len(rows), files=files, values=values, pieces=pieces, elsewhere=elsewhere
    )


def forget_before(ledger: Ledger, before: int, secret: bytes, reason: str, now: int) -> Removed:
    """The personal things of every report that was finished before that time, gone.

    What stays is what statistics are made of: verdicts, findings, repairs, models, stations. A unit
    is known by a token of `secret` from then on, which is thrown away. A report of a clock that was
    never set has no age that is known. What was set aside before that time is struck off the list.
    """
    tokens = Tokens(secret)
    counts = [0, 0]
    while True:
        with ledger.writing() as connection:
            _erase_what_is_freed(connection, ledger)
            rows = (
                connection.execute(
                    select(report)
                    .where(report.c.finished_at.between(EARLIEST, before - 1), ~_is_past())
                    .order_by(report.c.id)
                    .limit(AT_ONCE)
                )
                .mappings()
                .all()
            )
            if not rows:
                connection.execute(delete(set_aside).where(set_aside.c.noticed_at < before))
                return Removed(reports=counts[0], files=counts[1], values=frozenset(), pieces=())
            counts[0] += len(rows)
            counts[1] += _age(connection, [dict(row) for row in rows], tokens)
            _note(connection, [row["digest"] for row in rows], reason, now)


def count_undated(connection: Connection, now: int) -> int:
    """How many are dated before there were reports, or in the future: nobody knows their age."""
    is_undated = ~report.c.finished_at.between(EARLIEST, now + LATE)
    wanted = select(func.count()).select_from(report).where(is_undated, ~_is_past())
    return connection.execute(wanted).scalar() or 0


def _is_past() -> ColumnElement[bool]:
    return report.c.unit.startswith(f"{PAST} ")


def _age(connection: Connection, rows: Sequence[Row], tokens: Tokens) -> int:
    """Tokens in place of what names the units of these reports; the number of files dropped."""
    numbers = [int(str(row["id"])) for row in rows]
    known = values_of(connection, report.c.id.in_(numbers))
    files, _ = _drop_files(connection, numbers)
    for table in (identity, belonging):
        _delete_of(connection, table, numbers)
    connection.execute(update(part).where(part.c.report_id.in_(numbers)).values(serial=""))
    for table, names in ((finding, OF_FINDING), (step, OF_STEP)):
        children = (
            connection.execute(select(table).where(table.c.report_id.in_(numbers))).mappings().all()
        )
        hidden = [tokens.hide(table.name, dict(child), known) for child in children]
        keys = ("report_id", "number")
        wanted = [{f"at_{key}": row[key] for key in keys} | _only(row, names) for row in hidden]
        place = [table.c[key] == bindparam(f"at_{key}") for key in keys]
        _update(connection, update(table).where(*place), wanted)
    _update(
        connection,
        update(report).where(report.c.id == bindparam("at")),
        [{"at": row["id"]} | _aged(row, tokens) for row in rows],
    )
    return files


def _aged(row: Row, tokens: Tokens) -> Row:
    hidden = tokens.hide(report.name, row, frozenset())
    unit = str(hidden["unit"]).rpartition(" ")[2]
    return {**_only(hidden, OF_REPORT), "unit": f"{PAST} {unit}", "label_serial": ""}


def _only(row: Row, names: Sequence[str]) -> Row:
    return {name: row[name] for name in names}


def _update(connection: Connection, statement: Any, rows: Sequence[Row]) -> None:  # noqa: ANN401
    if rows:
        connection.execute(statement, rows)


def _erase_what_is_freed(connection: Connection, ledger: Ledger) -> None:
    """SQLite writes zeros over what is deleted, in place of leaving it in a free page."""
    if ledger.is_file:
        connection.exec_driver_sql("PRAGMA secure_delete = ON")


def _values_of_reports(connection: Connection, numbers: Sequence[int]) -> frozenset[str]:
    found: set[str] = set()
    for some in parts_of(numbers):
        found |= values_of(connection, report.c.id.in_(some))
    return frozenset(found)


def _drop_set_aside(connection: Connection, values: frozenset[str]) -> None:
    """What was set aside under a name, or for a reason, that holds a value of the unit."""
    rows = connection.execute(select(set_aside)).all()
    named = [
        row.digest
        for row in rows
        if any(value in f"{row.name} {row.reason}".upper() for value in values)
    ]
    for some in parts_of(named):
        connection.execute(delete(set_aside).where(set_aside.c.digest.in_(some)))


def _values_left(connection: Connection, values: frozenset[str]) -> frozenset[str]:
    """Which of the values another unit has too: a drive that was moved, a collision."""
    left: list[str] = []
    for some in parts_of(sorted(values), VALUES_AT_ONCE):
        is_pack = or_(
            false(), *(identity.c.value.endswith(f"/{value}", autoescape=True) for value in some)
        )
        held = select(identity.c.value).where(identity.c.value.in_(some) | is_pack)
        fitted = select(part.c.serial).where(part.c.serial.in_(some))
        named = select(report.c.label_serial).where(report.c.label_serial.in_(some))
        left.extend(connection.execute(held.union(fitted, named)).scalars())
    return values & known_values(left)


def _drop_files(connection: Connection, numbers: Sequence[int]) -> tuple[int, tuple[bytes, ...]]:
    """The bytes that belong to these reports and no other: how many files, and pieces of them."""
    digests: set[str] = set()
    for some in parts_of(numbers):
        own = select(belonging.c.digest).where(belonging.c.report_id.in_(some))
        digests.update(connection.execute(own).scalars())
    pieces: list[bytes] = []
    dropped = 0
    for some_digests in parts_of(sorted(digests)):
        sharing = select(belonging.c.digest).where(
            belonging.c.digest.in_(some_digests), belonging.c.report_id.not_in(numbers)
        )
        alone = set(some_digests) - set(connection.execute(sharing).scalars())
        kept = select(content.c.packed).where(content.c.digest.in_(alone))
        for packed in connection.execute(kept).scalars():
            pieces.extend(_pieces_of(packed))
        dropped += len(alone)
        _delete_of(connection, belonging, numbers)
        connection.execute(delete(content).where(content.c.digest.in_(alone)))
    return dropped, tuple(pieces)


def _pieces_of(packed: bytes) -> Iterator[bytes]:
    """Some bytes of it from several places: a database lays a long value on many pages."""
    starts = range(FIRST_PIECE, len(packed) - PIECE, BETWEEN_PIECES)
    for start in starts[:MOST_PIECES]:
        yield packed[start : start + PIECE]


def _delete_of(connection: Connection, table: Any, numbers: Sequence[int]) -> None:  # noqa: ANN401
    for some in parts_of(numbers):
        connection.execute(delete(table).where(table.c.report_id.in_(some)))


def _note(connection: Connection, digests: Sequence[str], reason: str, now: int) -> None:
    """The digests, by which the reports are known when they come again; once each."""
    for some in parts_of(digests):
        there = select(forgotten.c.digest).where(forgotten.c.digest.in_(some))
        new = sorted(set(some) - set(connection.execute(there).scalars()))
        rows = [{"digest": digest, "forgotten_at": now, "reason": reason} for digest in new]
        if rows:
            connection.execute(insert(forgotten), rows)


def parts_of(whole: Sequence[Any], most: int = AT_ONCE) -> Iterator[Sequence[Any]]:
    """So many of them at once."""
    for start in range(0, len(whole), most):
        yield whole[start : start + most]
