"""Reports put into the ledger: a chunk of them in one transaction, nothing twice."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

from sqlalchemy import Connection, Table, delete, func, insert, select, update

from closeout.depot.bundle import SEALS, Spoiled
from closeout.depot.examine import EARLY, Packed, Taken
from closeout.depot.facts import Facts, Row
from closeout.depot.tables import (
    INDEX_TABLES,
    belonging,
    content,
    forgotten,
    identity,
    part,
    report,
    set_aside,
)
from closeout.depot.tables import finding as finding_table
from closeout.depot.tables import step as step_table
from closeout.model.frozen import frozen
from closeout.report.foreign import make_safe

INTACT: Final = "intact"
SEAL_STATES: Final = ("none", "unknown", EARLY, INTACT)
"""From what says least to what says most."""
LONGEST_NAME: Final = 400


@frozen
class Known:
    """What the ledger has of a report already: each file with its digest."""

    number: int
    seal: str
    files: Mapping[str, str]

    def has_all_of(self, digests: Mapping[str, str]) -> bool:
        """Every file is there with these very bytes, and no seal could tell more than is known."""
        is_sealed = not frozenset(SEALS.values()).isdisjoint(digests)
        is_there = digests.items() <= self.files.items()
        return is_there and (self.seal == INTACT or not is_sealed)

    def is_proven_by(self, taken: Taken) -> bool:
        """The report's seal says more now than the ledger knows."""
        seal = str(taken.facts.report["seal"])
        return SEAL_STATES.index(seal) > SEAL_STATES.index(self.seal)

    def missing_of(self, taken: Taken) -> Mapping[str, Packed]:
        """What the ledger has not: a file that came later, a seal that says more than its own."""
        is_proven = self.is_proven_by(taken)
        return {
            name: file
            for name, file in taken.files.items()
            if name not in self.files
            or (is_proven and name in SEALS.values() and file.digest != self.files[name])
        }


@frozen
class Written:
    """What one transaction came to."""

    added: int = 0
    unproven: int = 0
    completed: int = 0
    known: int = 0


def find_known(connection: Connection, digests: Sequence[str]) -> Mapping[str, Known]:
    """Which of the reports are there, by their digests."""
    rows = connection.execute(
        select(report.c.digest, report.c.id, report.c.seal).where(report.c.digest.in_(digests))
    ).all()
    files: dict[int, dict[str, str]] = {row.id: {} for row in rows}
    held = select(belonging).where(belonging.c.report_id.in_(files))
    for own in connection.execute(held).all():
        files[own.report_id][own.name] = own.digest
    return {row.digest: Known(number=row.id, seal=row.seal, files=files[row.id]) for row in rows}


def find_forgotten(connection: Connection, digests: Sequence[str]) -> frozenset[str]:
    """Which of them are of a unit that was to be forgotten."""
    wanted = select(forgotten.c.digest).where(forgotten.c.digest.in_(digests))
    return frozenset(connection.execute(wanted).scalars())


def write_chunk(connection: Connection, chunk: Sequence[Taken]) -> Written:
    """All of them, in the transaction that is open; whoever was quicker is not overwritten."""
    digests = [taken.digest for taken in chunk]
    known = find_known(connection, digests)
    gone = find_forgotten(connection, digests)
    fresh = [one for one in chunk if one.digest not in known and one.digest not in gone]
    again = [one for one in chunk if one.digest in known]
    wanted = [one.files for one in fresh]
    wanted += [known[one.digest].missing_of(one) for one in again]
    _write_content(connection, [file for files in wanted for file in files.values()])
    _write_fresh(connection, fresh)
    completed = sum(_complete(connection, one, known[one.digest]) for one in again)
    _take_back(connection, [one.digest for one in fresh])
    return Written(
        added=len(fresh),
        unproven=sum(one.facts.report["seal"] != INTACT for one in fresh),
        completed=completed,
        known=len(again) - completed,
    )


def write_set_aside(connection: Connection, spoiled: Iterable[Spoiled], now: int) -> None:
    """What was set aside, once by its digest, with the reason that was first seen."""
    by_digest = {one.digest: one for one in spoiled if one.digest}
    there = select(set_aside.c.digest).where(set_aside.c.digest.in_(list(by_digest)))
    for digest in connection.execute(there).scalars():
        del by_digest[digest]
    _insert(
        connection,
        set_aside,
        [
            {
                "digest": digest,
                "name": make_safe(one.place, LONGEST_NAME),
                "reason": make_safe(one.reason),
                "noticed_at": now,
            }
            for digest, one in by_digest.items()
        ],
    )


def _write_content(connection: Connection, files: Iterable[Packed]) -> None:
    by_digest = {file.digest: file for file in files}
    there = select(content.c.digest).where(content.c.digest.in_(list(by_digest)))
    for digest in connection.execute(there).scalars():
        del by_digest[digest]
    rows = [
        {"digest": file.digest, "length": file.length, "packed": file.packed}
        for file in by_digest.values()
    ]
    _insert(connection, content, rows)


def _write_fresh(connection: Connection, fresh: Sequence[Taken]) -> None:
    """Reports that are new. Their numbers are ours to give: one writer works at a time."""
    last = connection.execute(select(func.max(report.c.id))).scalar() or 0
    rows: dict[Table, list[Row]] = {table: [] for table in (*INDEX_TABLES, belonging)}
    for number, taken in enumerate(fresh, start=last + 1):
        rows[report].append({"id": number, **taken.facts.report})
        for table, children in _children(taken.facts):
            rows[table].extend({"report_id": number, **child} for child in children)
        rows[belonging].extend(
            {"report_id": number, "name": name, "digest": file.digest}
            for name, file in taken.files.items()
        )
    for table, wanted in rows.items():
        _insert(connection, table, wanted)


def _children(facts: Facts) -> tuple[tuple[Table, tuple[Row, ...]], ...]:
    return (
        (finding_table, facts.findings),
        (step_table, facts.steps),
        (part, facts.parts),
        (identity, facts.identities),
    )


def _complete(connection: Connection, taken: Taken, known: Known) -> bool:
    """Adds what came later: evidence, a seal, or the one that is proven in place of another."""
    missing = known.missing_of(taken)
    for name in known.files.keys() & missing:
        _take_out(connection, known, name)
    _insert(
        connection,
        belonging,
        [
            {"report_id": known.number, "name": name, "digest": file.digest}
            for name, file in missing.items()
        ],
    )
    if is_proven := known.is_proven_by(taken):
        row = taken.facts.report
        wanted = {name: row[name] for name in ("seal", "station")}
        connection.execute(update(report).where(report.c.id == known.number).values(wanted))
    return bool(missing) or is_proven


def _take_out(connection: Connection, known: Known, name: str) -> None:
    """A file of a report, with its bytes where no other has them."""
    digest = known.files[name]
    own = (belonging.c.report_id == known.number, belonging.c.name == name)
    connection.execute(delete(belonging).where(*own))
    others = select(belonging.c.digest).where(belonging.c.digest == digest)
    connection.execute(delete(content).where(content.c.digest == digest, ~others.exists()))


def _take_back(connection: Connection, digests: Sequence[str]) -> None:
    """What is sound now is not set aside any more: the right seal came after the wrong one."""
    connection.execute(set_aside.delete().where(set_aside.c.digest.in_(digests)))


def _insert(connection: Connection, table: Table, rows: Sequence[Mapping[str, Any]]) -> None:
    if rows:
        connection.execute(insert(table), rows)
