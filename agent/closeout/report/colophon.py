"""How a document was made: by which program and typesetter, and what the report was judged as then.

It is embedded beside the report, so that the same pages can be made again from what the file holds.
"""

from __future__ import annotations

import re
from typing import Final

from closeout.model.frozen import frozen
from closeout.model.verdict import Verdict
from closeout.report.fields import Fields, as_fields
from closeout.report.json_text import dump_json, parse_json

FORMAT: Final = 1
PROGRAM: Final = re.compile(r"(closeout|typst) [0-9A-Za-z][0-9A-Za-z.+-]{0,30}")
"""Nothing else can be said in its name on page one."""


@frozen
class JudgedAgain:
    """What the program that made the document said of the evidence, and whether it is the same."""

    verdict: Verdict
    is_same: bool


@frozen
class Colophon:
    """Program and typesetter with their versions; `judged` is None where it could not be judged."""

    agent: str
    typesetter: str
    judged: JudgedAgain | None = None


def render_colophon(colophon: Colophon) -> bytes:
    """The content of `colophon.json`."""
    judged = colophon.judged
    return dump_json(
        {
            "colophon": FORMAT,
            "agent": colophon.agent,
            "typesetter": colophon.typesetter,
            "judged_again": judged and {"verdict": judged.verdict.value, "is_same": judged.is_same},
        }
    )


def load_colophon(raw: bytes) -> Colophon:
    """The record in the bytes; ReportError for anything else."""
    tree = as_fields(parse_json(raw), "")
    if tree.integer("colophon") != FORMAT:
        raise tree.complaint("colophon", f"only format {FORMAT} is known")
    return Colophon(
        agent=_program(tree, "agent"),
        typesetter=_program(tree, "typesetter"),
        judged=tree.optional("judged_again", _load_judged),
    )


def _program(tree: Fields, name: str) -> str:
    text = tree.text(name)
    if not PROGRAM.fullmatch(text):
        raise tree.complaint(name, "a program with its version was expected")
    return text


def _load_judged(tree: Fields) -> JudgedAgain:
    return JudgedAgain(verdict=tree.choice("verdict", Verdict), is_same=tree.flag("is_same"))
