"""A report as one PDF/A-3: page one tells the story, and what it rests on is embedded.

What is said comes from `closeout.report.page`, as a tree of elements; typst sets it. The same files
give the same bytes: the date is the report's, and no font is the system's. PDF/A-3a (ISO 19005-3)
and PDF/UA-1 (ISO 14289-1) are held by the typesetter, which refuses what does not conform.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Final

from closeout.report.colophon import Colophon, render_colophon
from closeout.report.document_front import Front, front_of_report, front_of_unrun
from closeout.report.document_tree import date_of, lay_out, lay_out_inline
from closeout.report.embedded import BY_NAME, COLOPHON, REPORT, UNRUN
from closeout.report.failure import DocumentError
from closeout.report.from_json import load_report
from closeout.report.glyphs import fit_fonts
from closeout.report.page import render_page
from closeout.report.page_tree import Element, read_title, read_tree
from closeout.report.qr_code import draw_qr, qr_rows
from closeout.report.typesetting import set_pdf
from closeout.report.unrun_json import load_unrun
from closeout.report.unrun_page import render_unrun_page

TEMPLATE: Final = Path(__file__).with_name("document.typ")
ALT: Final = "QR code of this report's number and digest: "
LARGEST_PAGE: Final = 4 << 20
"""Characters of a page that is typeset; that of a unit with all its parts has a tenth of them."""

LARGEST_FILES: Final = 16 << 20
"""Bytes that are embedded; an attempt has a hundredth of that."""


def render_document(files: Mapping[str, bytes], colophon: Colophon) -> bytes:
    """The document of an attempt's files, or of the record of a unit that was not run.

    Raises ReportError where report or record is none, and DocumentError where it cannot be set.
    """
    files = {name: files[name] for name in BY_NAME if name in files}
    name = UNRUN if UNRUN in files else REPORT
    if name == UNRUN:
        unrun = load_unrun(files[name])
        page, moment = render_unrun_page(unrun), unrun.at
        front = front_of_unrun(unrun, files, colophon)
    else:
        report = load_report(files[name])
        page, moment = render_page(report), report.circumstances.finished
        front = front_of_report(report, files, colophon)
    if sum(map(len, files.values())) > LARGEST_FILES:
        raise DocumentError(f"more than {LARGEST_FILES} bytes of files are too much for a document")
    if len(page) > LARGEST_PAGE:
        raise DocumentError(f"a page of more than {LARGEST_PAGE} characters is too much for paper")
    embedded = {**files, COLOPHON: render_colophon(colophon)}
    sheet = _sheet(page, front)
    attached = [_attachment(*each) for each in embedded.items()]
    return set_pdf(TEMPLATE, {"sheet": {**sheet, "date": date_of(moment.text)}, "files": attached})


def _sheet(page: str, front: Front) -> Mapping[str, object]:
    """All that the template is told."""
    tree = read_tree(page)
    (header,), (main,) = (tuple(tree.every(tag)) for tag in ("header", "main"))
    sections = [part for part in main.content if isinstance(part, Element) and part.tag != "nav"]
    return {
        "title": fit_fonts(read_title(page)),
        "keywords": [front.code.replace("\n", ", ")],
        "head": [lay_out(part) for part in header.content],
        "sections": [lay_out(part) for part in sections],
        "front": {
            "marks": [{"title": mark.title, "words": mark.words} for mark in front.marks],
            "lines": [[title, lay_out_inline(read_tree(told))] for title, told in front.lines],
            "qr": draw_qr(qr_rows(front.code)),
            "alt": ALT + front.code.replace("\n", ", "),
            "foot": front.foot,
        },
    }


def _attachment(name: str, content: bytes) -> Mapping[str, object]:
    """A file for the template; its bytes as numbers, since no other way leads past texts."""
    kind = BY_NAME[name]
    return {
        "name": name,
        "type": kind.media_type,
        "relation": kind.relation,
        "about": kind.about,
        "content": list(content),
    }
