"""The tables of the ledger: what is kept, and what is asked of it.

`content` keeps exact bytes, once by digest. `report`, `finding`, `step`, `part` and `identity` are
the index over them: all of it can be made again from the bytes. The same five tables are what an
export holds, a Parquet file a month, and what every question is asked of, wherever they lie.

Text is never null: what is not known is empty. Days and weeks are ISO 8601, UTC, by the clock that
the report names; times are whole seconds since 1970.
"""

from __future__ import annotations

from typing import Final

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
)

NAMES: Final = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}
"""Constraints are named, so that a migration can name them."""
JUDGED: Final = "judged"
"""The kind of a report that is neither a draft nor of a unit that was not checked."""
DIGEST: Final = String(64)
NUMBER: Final = BigInteger().with_variant(Integer, "sqlite")
"""SQLite counts by itself only what is called INTEGER."""

tables: Final = MetaData(naming_convention=NAMES)

content: Final = Table(
    "content",
    tables,
    Column("digest", DIGEST, primary_key=True),  # SHA-256 of the bytes as they lay there
    Column("length", BigInteger, nullable=False),  # of the bytes
    Column("packed", LargeBinary, nullable=False),  # the bytes, deflated (RFC 1950)
)

report: Final = Table(
    "report",
    tables,
    Column("id", NUMBER, primary_key=True, autoincrement=True),
    Column("digest", DIGEST, nullable=False, unique=True),  # of report.json or unrun.json
    Column("kind", String(8), nullable=False),  # judged, draft, unrun
    Column("agent", Text, nullable=False),
    Column("unit", Text, nullable=False),  # which unit: its label's serial, else its board
    Column("board", Text, nullable=False),  # its system board: board serial and UUID
    Column("label_serial", Text, nullable=False),  # what the work order says of the label
    Column("work_order", Text, nullable=False),
    Column("attempt", Integer, nullable=False),
    Column("revision", Integer, nullable=False),  # 1, and one more for each answer or concession
    Column("started_at", BigInteger, nullable=False),
    Column("finished_at", BigInteger, nullable=False),
    Column("day", String(10), nullable=False),  # 2026-11-29
    Column("week", String(8), nullable=False),  # 2026-W48
    Column("month", String(7), nullable=False),  # 2026-11
    Column("time_source", Text, nullable=False),
    Column("model", Text, nullable=False),  # the profile's name
    Column("profile_revision", Text, nullable=False),
    Column("profile_digest", DIGEST, nullable=False),
    Column("profile_set", Text, nullable=False),  # the version of all profiles together
    Column("profile_state", String(16), nullable=False),  # signed, unsigned, superseded, unknown
    Column("rules", Text, nullable=False),  # the catalogue's revision
    Column("repairs", Text, nullable=False),  # sorted, joined by "+"
    Column("replaces_board", Boolean, nullable=False),  # one of the repairs is a new system board
    Column("station", Text, nullable=False),  # by its seal, else as it was typed
    Column("seal", String(16), nullable=False),  # intact, early, none, unknown
    Column("stick_build", Text, nullable=False),
    Column("verdict", String(10), nullable=False),  # empty for an unrun unit
    Column("why_unrun", String(16), nullable=False),
    Column("evidence_digest", DIGEST, nullable=False),
    Index(None, "unit"),
    Index(None, "work_order"),
    Index(None, "month"),
)

finding: Final = Table(
    "finding",
    tables,
    Column("report_id", NUMBER, ForeignKey("report.id"), primary_key=True),
    Column("number", Integer, primary_key=True),  # its place in the report
    Column("rule", Text, nullable=False),
    Column("subject", Text, nullable=False),
    Column("label", Text, nullable=False),
    Column("weight", String(8), nullable=False),
    Column("outcome", String(10), nullable=False),  # never pass: what passed is not indexed
    Column("expected", Text, nullable=False),
    Column("found", Text, nullable=False),
    Column("connection", Text, nullable=False),  # the cable to reseat
    Column("answer", String(8), nullable=False),  # yes, no
    Column("is_conceded", Boolean, nullable=False),
)

step: Final = Table(
    "step",
    tables,
    Column("report_id", NUMBER, ForeignKey("report.id"), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("title", Text, nullable=False),
    Column("action", Text, nullable=False),  # what to reseat or to do
)

part: Final = Table(
    "part",
    tables,
    Column("report_id", NUMBER, ForeignKey("report.id"), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("kind", Text, nullable=False),  # what was fitted or removed by this order
    Column("is_fitted", Boolean, nullable=False),
    Column("part_number", Text, nullable=False),
    Column("serial", Text, nullable=False),
)

identity: Final = Table(
    "identity",
    tables,
    Column("report_id", NUMBER, ForeignKey("report.id"), primary_key=True),
    Column("number", Integer, primary_key=True),
    Column("kind", String(10), nullable=False),  # serial, uuid, board, mac, licence, drive, pack
    Column("value", Text, nullable=False),  # never blank or filler; a licence is its token
    Column("unit", Text, nullable=False),  # as in report
    Column("board", Text, nullable=False),
    Index(None, "kind", "value"),
)

belonging: Final = Table(
    "belonging",
    tables,
    Column("report_id", NUMBER, ForeignKey("report.id"), primary_key=True),
    Column("name", String(64), primary_key=True),  # report.json, report.jws, evidence.jsonl.gz …
    Column("digest", DIGEST, ForeignKey("content.digest"), nullable=False),
)

set_aside: Final = Table(
    "set_aside",
    tables,
    Column("digest", DIGEST, primary_key=True),
    Column("name", Text, nullable=False),  # where it lay, safe to show
    Column("reason", Text, nullable=False),
    Column("noticed_at", BigInteger, nullable=False),
)

forgotten: Final = Table(
    "forgotten",
    tables,
    Column("digest", DIGEST, primary_key=True),  # of a report that must not come back
    Column("forgotten_at", BigInteger, nullable=False),
    Column("reason", Text, nullable=False),  # as whoever forgot it gave it
)

INDEX_TABLES: Final = (report, finding, step, part, identity)
"""What is exported and asked, in this order."""
