"""Documents for tests: made of reports of choice, and what poppler's tools say of them."""

import subprocess
import tempfile
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Final

from closeout.model.frozen import replace
from closeout.model.inventory import Inventory
from closeout.model.moment import Moment
from closeout.model.report import Report
from closeout.model.unrun import Unrun, WhyUnrun
from closeout.report.as_json import render_json
from closeout.report.colophon import Colophon, JudgedAgain
from closeout.report.document import render_document
from closeout.report.unrun_json import render_unrun_json
from strategies.sample_report import sample_report

COLOPHON: Final = Colophon(agent="closeout 0.1.0", typesetter="typst 0.15")
SEAL: Final = b"eyJhbGciOiJFZERTQSIsImtpZCI6IksifQ.." + 86 * b"A" + b"\n"
"""It has the form of one, and is of the key K."""


def sample_unrun() -> Unrun:
    """A unit that does not start, as somebody recorded it."""
    return Unrun(
        agent="closeout 0.1.0",
        order="WO-20418",
        number=1,
        why=WhyUnrun.NO_BOOT,
        note="no light, no fan, with two adapters",
        by="T-07",
        station="B-07",
        at=Moment(text="2026-11-20T09:00:19Z", source="network"),
    )


def small_report() -> Report:
    """The sample without its devices: a document of it has few pages."""
    sample = sample_report()
    return replace(sample, inventory=Inventory(sections=sample.inventory.sections[:1]))


def document_of(
    report: Report, beside: Mapping[str, bytes] | None = None, judged: JudgedAgain | None = None
) -> bytes:
    """The document of a report with these files beside it."""
    files = {"report.json": render_json(report), **(beside or {})}
    return render_document(files, replace(COLOPHON, judged=judged))


@cache
def unrun_document() -> bytes:
    """The document of the record above."""
    return render_document({"unrun.json": render_unrun_json(sample_unrun())}, COLOPHON)


def told_by(program: str, document: bytes, *arguments: str) -> str:
    """What a tool of poppler prints of it; `{}` among the arguments is its file."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "document.pdf"
        file.write_bytes(document)
        given = [str(file) if each == "{}" else each for each in arguments]
        command = [program, *given]
        return subprocess.run(command, check=True, capture_output=True, text=True).stdout


def text_of_page(document: bytes, number: int) -> str:
    """What is written on a page, its lines joined by single spaces."""
    page = str(number)
    return " ".join(told_by("pdftotext", document, "-f", page, "-l", page, "{}", "-").split())


def whole_text(document: bytes) -> str:
    """All that is written in it, without any space: lines may end anywhere."""
    return "".join(told_by("pdftotext", document, "-raw", "{}", "-").split())
