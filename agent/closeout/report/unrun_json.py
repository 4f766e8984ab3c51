"""The record of a unit that was not judged, as JSON and back (`reports/unrun-1.schema.json`)."""

from __future__ import annotations

from typing import Final

from closeout.model.unrun import Unrun, WhyUnrun
from closeout.report.circumstances_from_json import load_moment
from closeout.report.circumstances_json import tree_of_moment
from closeout.report.failure import ReportError
from closeout.report.fields import as_fields
from closeout.report.json_text import dump_json, parse_json

UNRUN_FORMAT: Final = 1


def render_unrun_json(unrun: Unrun) -> bytes:
    """The content of `unrun.json`."""
    return dump_json(
        {
            "unrun": UNRUN_FORMAT,
            "agent": unrun.agent,
            "order": unrun.order,
            "number": unrun.number,
            "reason": unrun.why.value,
            "note": unrun.note,
            "by": unrun.by,
            "station": unrun.station,
            "at": tree_of_moment(unrun.at),
        }
    )


def load_unrun(raw: bytes) -> Unrun:
    """The record in the bytes; ReportError for anything else. What a newer one added is left."""
    tree = as_fields(parse_json(raw), "")
    found = tree.integer("unrun")
    if found != UNRUN_FORMAT:
        raise ReportError("unrun", f"format {found}; only format {UNRUN_FORMAT} is known")
    return Unrun(
        agent=tree.text("agent"),
        order=tree.text("order"),
        number=tree.integer("number"),
        why=tree.choice("reason", WhyUnrun),
        note=tree.text("note"),
        by=tree.text("by"),
        station=tree.text("station"),
        at=load_moment(tree.fields("at")),
    )
