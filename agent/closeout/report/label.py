"""The label of a unit: the verdict in words, which order and attempt, and the code of its report.

It is black on white, and a hold is white on black beside its word, so no colour is needed. The
code's modules are whole dots of the printer: half dots smear, and scanners miss them.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Final

from closeout.model.frozen import frozen
from closeout.model.inventory import Inventory
from closeout.model.report import Report
from closeout.model.verdict import Verdict
from closeout.report import story
from closeout.report.description import describe_unit
from closeout.report.document_front import report_marks
from closeout.report.document_tree import date_of
from closeout.report.embedded import REPORT
from closeout.report.failure import DocumentError
from closeout.report.foreign import make_safe
from closeout.report.glyphs import fit_fonts
from closeout.report.qr_code import QUIET, digest_of, draw_qr, qr_rows, tell_identity, tell_unrun
from closeout.report.typesetting import set_pdf, set_picture
from closeout.report.unrun_json import load_unrun

TEMPLATE: Final = Path(__file__).with_name("label.typ")
SHORT: Final = 12
"""Hex digits of the digest that are printed; the code has all of them."""
EDGE: Final = 1.0
"""Millimetres around, which label printers cannot print on."""
FEWEST_DOTS: Final = 2
MILLIMETRES: Final = 25.4
LONGEST: Final = 60


@frozen
class Size:
    """Of a label in millimetres, and of its printer in dots an inch."""

    width: float
    height: float
    dpi: float


@frozen
class Label:
    """What stands on it: the verdict, lines with their weight, the day, and the code's text."""

    verdict: str
    is_filled: bool
    lines: tuple[tuple[str, str], ...]
    day: str
    code: str


def label_of(report: Report, files: Mapping[str, bytes], *, with_serial: bool) -> Label:
    """The label of a report."""
    symbol = story.VERDICT_SYMBOLS[report.verdict]
    return Label(
        verdict=f"{symbol} {report.verdict.value.upper()}",
        is_filled=report.verdict is Verdict.HOLD,
        lines=tuple(_lines(report, files, with_serial=with_serial)),
        day=report.circumstances.finished.text,
        code=tell_identity(report, files[REPORT]),
    )


def label_of_unrun(raw: bytes) -> Label:
    """The label of a unit that was not judged. Raises ReportError where it is no such record."""
    unrun = load_unrun(raw)
    return Label(
        verdict="NOT RUN",
        is_filled=True,
        lines=(
            (_clip(unrun.order), "bold"),
            (f"{unrun.why.value}, by {_clip(unrun.by)}", "regular"),
            (_day(unrun.at.text), "regular"),
            (f"sha256 {digest_of(raw)[:SHORT]}", "regular"),
        ),
        day=unrun.at.text,
        code=tell_unrun(unrun, raw),
    )


def render_label(label: Label, size: Size, *, as_picture: bool) -> bytes:
    """The label as a PDF, or as a PNG of the printer's dots.

    Raises DocumentError where its code would be too small to be read.
    """
    said = {"label": _sheet(label, size)}
    if as_picture:
        return _with_density(set_picture(TEMPLATE, said, size.dpi), size.dpi)
    return set_pdf(TEMPLATE, said)


def _lines(
    report: Report, files: Mapping[str, bytes], *, with_serial: bool
) -> Iterator[tuple[str, str]]:
    facts = report.circumstances
    attempt = "draft" if facts.is_draft else f"attempt {facts.attempt}"
    revision = f", revision {report.revision}" if report.revision > 1 else ""
    if story.is_conceded(report):
        yield "WITH CONCESSION", "bold"
    yield _clip(facts.order or "no order"), "bold"
    yield f"{attempt}{revision}", "regular"
    yield _day(facts.finished.text), "regular"
    yield _unit(report.inventory, "Product") or "model not read", "regular"
    if with_serial:
        yield _unit(report.inventory, "Serial") or "serial not read", "regular"
    yield f"sha256 {digest_of(files[REPORT])[:SHORT]}", "regular"
    marks = ", ".join(mark.title for mark in report_marks(report, files, None))
    if marks:
        yield marks, "bold"


def _unit(inventory: Inventory, title: str) -> str:
    """What was read of the unit itself; empty where it was not."""
    lines = dict(describe_unit(inventory))
    line = lines.get(title)
    return _clip(line.text) if line and line.state == "value" else ""


def _clip(text: str) -> str:
    return fit_fonts(make_safe(text, LONGEST))


def _day(text: str) -> str:
    return _clip(text.partition("T")[0])


def _sheet(label: Label, size: Size) -> Mapping[str, object]:
    """All that the template is told; places are in dots."""
    rows = qr_rows(label.code)
    dots = size.dpi / MILLIMETRES
    side = len(rows) + 2 * QUIET
    free = min(size.height - 2 * EDGE, size.width * 0.45) * dots
    module = int(free // side)
    if module < FEWEST_DOTS:
        wanted = FEWEST_DOTS * side / dots
        raise DocumentError(f"its code needs {wanted:.0f} mm to be read; take a larger one")
    code = module * side
    return {
        "title": f"{label.verdict}, label",
        "verdict": label.verdict,
        "filled": label.is_filled,
        "lines": label.lines,
        "date": date_of(label.day),
        "width": size.width,
        "height": size.height,
        "dpi": size.dpi,
        "edge": round(EDGE * dots),
        "left": round(EDGE * dots / 2),
        "top": round((size.height * dots - code) / 2),
        "code": code,
        "qr": draw_qr(rows),
        "alt": "QR code: " + label.code.replace("\n", ", "),
    }


def _with_density(png: bytes, dpi: float) -> bytes:
    """The picture with its dots a metre (PNG, 11.3.4.3 pHYs) behind its header."""
    metre = round(dpi * 1000 / MILLIMETRES)
    chunk = b"pHYs" + struct.pack(">IIB", metre, metre, 1)
    body = struct.pack(">I", len(chunk) - 4) + chunk + struct.pack(">I", zlib.crc32(chunk))
    header = 8 + 25
    return png[:header] + body + png[header:]
