"""Where fuzzing of a target starts from: valid input, all of it of the invented units.

A decoder starts from every answer of the demo units, since which of them are its own is found out
by the run itself: what reaches nothing new is dropped at once.
"""

import gzip
import json
from collections.abc import Iterator
from typing import Final

from closeout.cli.demo import demo_units
from closeout.decode.report_file import CLOSING_LENGTH
from closeout.expect.shipped import shipped_folder
from closeout.kernel.evidence_file import encode_lines
from closeout.media.report_file import pack_report
from closeout.report.colophon import Colophon, render_colophon
from fuzz.corpus import EVERYBODYS, seeds_of
from fuzz.targets import whole_unit
from strategies.pdf_file import Stream, write_pdf

LONGEST: Final = 8192
"""Of a start; what is longer is cut."""
MOST_LINES: Final = 40
KINDS_TOGETHER: Final = 4
REPORT_FILE: Final = pack_report(
    {"T-1/attempt-0001/a.json": b"{}" * 20, "T-1/attempt-0001/b.gz": b"\x1f\x8b"}
)

FILES: Final = "<</EmbeddedFiles<</Names[(report.json) <</EF<</F 2 0 R>>>>]>>>>"
DOCUMENT: Final = write_pdf(f"<</Type/Catalog/Names{FILES}>>", Stream(b"{}"))


def starts_of(name: str) -> Iterator[bytes]:  # noqa: C901, PLR0912 - a case for each kind of file
    """What a run of this target starts from."""
    yield from seeds_of(name)
    match name:
        case "evidence":
            yield from map(gzip.compress, _evidence())
        case "evidence_lines":
            yield from _evidence()
        case "answer":
            unit, answered = whole_unit()
            for number, at in enumerate(answered):
                answer = unit.records[at].answer
                if isinstance(answer, bytes):
                    yield number.to_bytes(2, "big") + answer[:LONGEST]
        case "profile_or_order":
            yield from (path.read_bytes() for path in shipped_folder("profiles").rglob("*.toml"))
        case "report" | "report_facts":
            yield from _reports()
        case "colophon":
            yield render_colophon(Colophon(agent="closeout 1", typesetter="typst 1"))
        case "document":
            yield DOCUMENT
        case "decode_report_file" | "closed_report_file":
            yield REPORT_FILE
            yield REPORT_FILE[:-CLOSING_LENGTH]
        case _:
            yield from _answers()


def _answers() -> Iterator[bytes]:
    """Each answer in bytes, once."""
    found = {
        record.answer[:LONGEST]
        for unit in demo_units()
        for record in unit.evidence().records
        if isinstance(record.answer, bytes)
    }
    yield from sorted(found - set(EVERYBODYS))


def _evidence() -> Iterator[bytes]:
    """Pieces of evidence, each with the header, as the file is once it is unpacked."""
    for unit in demo_units():
        header, *lines = encode_lines(unit.evidence()).splitlines(keepends=True)
        for first in range(0, len(lines), MOST_LINES):
            yield header + b"".join(lines[first : first + MOST_LINES])


def _reports() -> Iterator[bytes]:
    """The examples, each with the devices of a few kinds and with a few findings."""
    for path in sorted((shipped_folder("reports") / "examples").glob("*.json")):
        whole = json.loads(path.read_bytes())
        kinds = list(whole["inventory"])
        for first in range(0, len(kinds), KINDS_TOGETHER):
            kept = kinds[first : first + KINDS_TOGETHER]
            devices = {kind: whole["inventory"][kind]["devices"] for kind in kept}
            inventory = {
                kind: {**section, "devices": devices.get(kind, [])[:2]}
                for kind, section in whole["inventory"].items()
            }
            findings = whole["findings"][first : first + KINDS_TOGETHER]
            words = {rule: whole["words"][rule] for rule in {one["rule"] for one in findings}}
            part = {**whole, "inventory": inventory, "findings": findings, "words": words}
            yield json.dumps(part, separators=(",", ":")).encode()
