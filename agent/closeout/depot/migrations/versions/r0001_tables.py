"""The tables of the first version."""

from __future__ import annotations

from typing import Any, Final

import sqlalchemy as sa
from alembic import op

revision: Final = "0001"
down_revision: Final = None

DIGEST: Final = sa.String(64)
NUMBER: Final = sa.BigInteger().with_variant(sa.Integer, "sqlite")
TEXTS_OF_REPORT: Final = ("agent", "unit", "board", "label_serial", "work_order")
LATER_TEXTS: Final = ("rules", "repairs")


def upgrade() -> None:
    """Makes them."""
    _make_content()
    _make_report()
    _make_children()
    _make_lists()


def _make_content() -> None:
    op.create_table(
        "content",
        _column("digest", DIGEST),
        _column("length", sa.BigInteger()),
        _column("packed", sa.LargeBinary()),
        sa.PrimaryKeyConstraint("digest", name="pk_content"),
    )


def _make_report() -> None:
    op.create_table(
        "report",
        sa.Column("id", NUMBER, autoincrement=True, nullable=False),
        _column("digest", DIGEST),
        _column("kind", sa.String(8)),
        *_texts(*TEXTS_OF_REPORT),
        *_numbers("attempt", "revision"),
        _column("started_at", sa.BigInteger()),
        _column("finished_at", sa.BigInteger()),
        _column("day", sa.String(10)),
        _column("week", sa.String(8)),
        _column("month", sa.String(7)),
        *_texts("time_source", "model", "profile_revision"),
        _column("profile_digest", DIGEST),
        *_texts("profile_set"),
        _column("profile_state", sa.String(16)),
        *_texts(*LATER_TEXTS),
        _column("replaces_board", sa.Boolean()),
        *_texts("station"),
        _column("seal", sa.String(16)),
        *_texts("stick_build"),
        _column("verdict", sa.String(10)),
        _column("why_unrun", sa.String(16)),
        _column("evidence_digest", DIGEST),
        sa.PrimaryKeyConstraint("id", name="pk_report"),
        sa.UniqueConstraint("digest", name="uq_report_digest"),
    )
    for name in ("unit", "work_order", "month"):
        op.create_index(f"ix_report_{name}", "report", [name])


def _make_children() -> None:
    _make_child(
        "finding",
        *_texts("rule", "subject", "label"),
        _column("weight", sa.String(8)),
        _column("outcome", sa.String(10)),
        *_texts("expected", "found", "connection"),
        _column("answer", sa.String(8)),
        _column("is_conceded", sa.Boolean()),
    )
    _make_child("step", *_texts("title", "action"))
    _make_child(
        "part",
        *_texts("kind"),
        _column("is_fitted", sa.Boolean()),
        *_texts("part_number", "serial"),
    )
    _make_child("identity", _column("kind", sa.String(10)), *_texts("value", "unit", "board"))
    op.create_index("ix_identity_kind_value", "identity", ["kind", "value"])


def _make_lists() -> None:
    op.create_table(
        "belonging",
        _column("report_id", NUMBER),
        _column("name", sa.String(64)),
        _column("digest", DIGEST),
        sa.PrimaryKeyConstraint("report_id", "name", name="pk_belonging"),
        _of_report("belonging"),
        sa.ForeignKeyConstraint(["digest"], ["content.digest"], name="fk_belonging_digest"),
    )
    op.create_table(
        "set_aside",
        _column("digest", DIGEST),
        *_texts("name", "reason"),
        _column("noticed_at", sa.BigInteger()),
        sa.PrimaryKeyConstraint("digest", name="pk_set_aside"),
    )
    op.create_table(
        "forgotten",
        _column("digest", DIGEST),
        _column("forgotten_at", sa.BigInteger()),
        *_texts("reason"),
        sa.PrimaryKeyConstraint("digest", name="pk_forgotten"),
    )


def _make_child(name: str, *columns: sa.Column[Any]) -> None:
    op.create_table(
        name,
        _column("report_id", NUMBER),
        *_numbers("number"),
        *columns,
        sa.PrimaryKeyConstraint("report_id", "number", name=f"pk_{name}"),
        _of_report(name),
    )


def _of_report(name: str) -> sa.ForeignKeyConstraint:
    label = f"fk_{name}_report_id"
    return sa.ForeignKeyConstraint(["report_id"], ["report.id"], name=label)


def _column(name: str, kind: sa.types.TypeEngine[Any]) -> sa.Column[Any]:
    return sa.Column(name, kind, nullable=False)


def _texts(*names: str) -> tuple[sa.Column[Any], ...]:
    return tuple(_column(name, sa.Text()) for name in names)


def _numbers(*names: str) -> tuple[sa.Column[Any], ...]:
    return tuple(_column(name, sa.Integer()) for name in names)
