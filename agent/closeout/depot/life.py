"""The life of one unit: every report of it, in the order of time, with what was said of it."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Final, TypeGuard, cast

from sqlalchemy import ColumnElement, Connection, Table, or_, select

from closeout.depot.bundle import REPORT, UNRUN
from closeout.depot.examine import unpack
from closeout.depot.facts import Row
from closeout.depot.failure import RefusalError
from closeout.depot.identities import normalise
from closeout.depot.own_reports import reports_of
from closeout.depot.tables import belonging, content, finding, identity, part, report, step
from closeout.model.frozen import frozen
from closeout.report.foreign import make_safe

KIND_WORDS: Final = {
    "serial": "serial in the firmware",
    "uuid": "UUID in the firmware",
    "board": "serial of the system board",
    "mac": "address of a network part",
    "licence": "token of the licence",
    "drive": "serial of a drive",
    "pack": "serial of a pack",
}
LABEL: Final = "serial on the label"
PART: Final = "serial of a part of the order"
ORDER: Final = "number of an order"
NAME: Final = "name of the unit in the ledger"


@frozen
class Match:
    """A unit, and by what it was found."""

    unit: str
    by: str


def find_units(connection: Connection, asked: str) -> tuple[Match, ...]:
    """Every unit that has this serial, address or name, with all by which it has.

    None has an empty one: where nothing is told, nothing is known.
    """
    serial = make_safe(normalise(asked))
    if not serial:
        return ()
    found: set[tuple[str, str]] = set()
    named_or_labelled = (
        (report.c.unit == make_safe(asked.strip()), NAME),
        (report.c.label_serial == serial, LABEL),
    )
    for condition, by in named_or_labelled:
        units = select(report.c.unit).where(condition).distinct()
        found |= {(unit, by) for unit in connection.execute(units).scalars()}
    named = select(identity.c.unit, identity.c.kind).where(_has_value(serial)).distinct()
    found |= {(row.unit, KIND_WORDS[row.kind]) for row in connection.execute(named)}
    fitted = select(report.c.unit).join(part).where(part.c.serial == serial).distinct()
    found |= {(unit, PART) for unit in connection.execute(fitted).scalars()}
    return tuple(Match(unit=unit, by=by) for unit, by in sorted(found))


def find_by_order(connection: Connection, asked: str) -> tuple[Match, ...]:
    """Every unit that an order of this number was about."""
    wanted = select(report.c.unit).where(report.c.work_order == make_safe(asked.strip())).distinct()
    units = connection.execute(wanted).scalars() if asked.strip() else ()
    return tuple(Match(unit=unit, by=ORDER) for unit in sorted(units))


def _has_value(serial: str) -> ColumnElement[bool]:
    """An identity that is this; of a pack its maker and model stand in front."""
    address = serial.replace("-", ":")
    is_pack = identity.c.value.endswith(f"/{serial}", autoescape=True)
    return or_(identity.c.value.in_([serial, address]), (identity.c.kind == "pack") & is_pack)


def tell_life(connection: Connection, unit: str) -> dict[str, object]:
    """All that the ledger has of the unit, as plain values in the order of time."""
    wanted = select(report).where(reports_of(unit))
    in_time = (report.c.started_at, report.c.attempt, report.c.revision, report.c.id)
    rows = connection.execute(wanted.order_by(*in_time)).mappings().all()
    reports = [_tell_report(connection, dict(row)) for row in rows]
    return {"unit": unit, "boards": _boards(reports), "reports": reports}


def _boards(reports: Sequence[Row]) -> list[dict[str, object]]:
    """Each system board with the first and the last day that it was seen in the unit."""
    boards: list[dict[str, object]] = []
    for one in reports:
        if not one["board"]:
            continue
        if not boards or boards[-1]["board"] != one["board"]:
            boards.append({"board": one["board"], "first_day": one["day"]})
        boards[-1]["last_day"] = one["day"]
    return boards


def _tell_report(connection: Connection, row: Row) -> Row:
    number = cast("int", row.pop("id"))
    tree = _kept_tree(connection, number)
    return {
        **row,
        "operator": _text_at(tree, "circumstances", "handling", "operator"),
        "by": _text_at(tree, "by"),
        "note": _text_at(tree, "note"),
        "findings": _tell_findings(connection, number, tree),
        "steps": _children(connection, step, number),
        "parts": _children(connection, part, number),
        "identities": [
            {"kind": each["kind"], "value": each["value"]}
            for each in _children(connection, identity, number)
        ],
        "revisions": [
            {name: _text_at(each, name) for name in ("change", "by")}
            for each in _list_at(tree, "revisions")
        ],
    }


def _children(connection: Connection, table: Table, number: int) -> list[Row]:
    wanted = select(table).where(table.c.report_id == number).order_by(table.c.number)
    rows = connection.execute(wanted).mappings()
    return [{key: value for key, value in row.items() if key != "report_id"} for row in rows]


def _tell_findings(connection: Connection, number: int, tree: object) -> list[Row]:
    """What did not pass, with who answered or conceded it, which the kept bytes tell."""
    said = _list_at(tree, "findings")
    rows = _children(connection, finding, number)
    for row in rows:
        at = cast("int", row["number"]) - 1
        own = said[at] if at < len(said) else None
        for name in ("answer", "concession"):
            row[f"{name}_by"] = _text_at(own, name, "by")
            row[f"{name}_reason"] = _text_at(own, name, "reason")
    return rows


def _kept_tree(connection: Connection, number: int) -> object:
    """The report itself; empty where its bytes are not kept any more."""
    wanted = (
        select(content.c.packed, content.c.digest)
        .join(belonging, belonging.c.digest == content.c.digest)
        .where(belonging.c.report_id == number, belonging.c.name.in_([REPORT, UNRUN]))
    )
    row = connection.execute(wanted).first()
    if row is None:
        return {}
    try:
        return json.loads(unpack(row.packed, row.digest))
    except RefusalError:
        return {}


def _at(tree: object, *names: str) -> object:
    for name in names:
        tree = cast("dict[str, object]", tree).get(name) if isinstance(tree, dict) else None
    return tree


def _text_at(tree: object, *names: str) -> str:
    found = _at(tree, *names)
    return make_safe(found) if isinstance(found, str) else ""


def _is_list(value: object) -> TypeGuard[list[object]]:
    return isinstance(value, list)


def _list_at(tree: object, *names: str) -> list[object]:
    found = _at(tree, *names)
    return found if _is_list(found) else []
