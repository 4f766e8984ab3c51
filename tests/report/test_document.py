"""The document: page one alone, the files in it, the same bytes again, and nothing injected."""

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import example, given, settings

from closeout.model.attribute import attributes_of
from closeout.model.moment import Moment
from closeout.model.report import Report, Unanswered
from closeout.model.verdict import Verdict
from closeout.report import document
from closeout.report.as_json import render_json
from closeout.report.colophon import JudgedAgain, render_colophon
from closeout.report.document import render_document
from closeout.report.embedded import parse_document
from closeout.report.failure import DocumentError
from closeout.report.foreign import make_safe
from closeout.report.glyphs import LETTERS, SIGNS, fit_fonts
from closeout.report.redact import redact
from closeout.report.unrun_json import render_unrun_json
from strategies.documents import (
    COLOPHON,
    SEAL,
    document_of,
    sample_unrun,
    small_report,
    text_of_page,
    told_by,
    unrun_document,
    whole_text,
)
from strategies.reports import reports, texts, with_texts
from strategies.sample_report import sample_report

pytestmark = pytest.mark.wheel_oracle
BESIDE = {"report.jws": SEAL, "evidence.jsonl.gz": b"\x1f\x8b\0\xff" * 9, "work-order.toml": b""}
SAME = JudgedAgain(verdict=Verdict.HOLD, is_same=True)


def draft(report: Report) -> Report:
    return replace(report, circumstances=replace(report.circumstances, is_draft=True, attempt=0))


def test_it_tells_the_story_on_page_one() -> None:
    made = document_of(small_report(), BESIDE, SAME)
    first = text_of_page(made, 1)
    for told in ("Hold", "Why", "Do first", "Unit", "This check", "This document", "WO-20417"):
        assert told in first
    assert re.search(r"page 1 of \d+$", first)
    assert "by the key K; closeout report verify says" in first
    assert "by closeout 0.1.0, typst 0.15, which made this document: hold, the same" in first
    assert "NOT SEALED" not in first
    assert "DRAFT" not in first


@pytest.mark.parametrize(
    ("change", "judged", "told"),
    [
        (draft, None, "DRAFT counts as no attempt"),
        (redact, None, "REDACTED serials, addresses and tokens are masked"),
        (lambda report: report, None, "NOT SEALED nobody can tell whether it was changed"),
        (
            lambda report: report,
            JudgedAgain(verdict=Verdict.RELEASE, is_same=False),
            "JUDGED OTHERWISE closeout 0.1.0 says release of the same evidence",
        ),
        (lambda report: replace(report, verdict=Verdict.RELEASE), None, "Release with concession"),
        (lambda report: replace(report, verdict=Verdict.UNDECIDED), None, "Undecided Not proven"),
    ],
)
def test_what_must_not_be_overlooked_stands_on_page_one(
    change: Callable[[Report], Report], judged: JudgedAgain | None, told: str
) -> None:
    assert told in text_of_page(document_of(change(small_report()), judged=judged), 1)


def test_a_seal_that_is_none_is_said() -> None:
    first = text_of_page(document_of(small_report(), {"report.jws": b"\xff"}), 1)
    assert "NOT SEALED" in first
    assert "report.jws is no seal" in first


@pytest.mark.parametrize(
    "text", ["A" * 900, "AB " * 300, "\u202e" * 300], ids=["a word", "words", "hidden"]
)
def test_page_one_is_one_page_whatever_is_said(text: str) -> None:
    made = document_of(with_texts(small_report(), lambda own: own + text))
    assert "This document" in text_of_page(made, 1)
    assert "Still to do before hand-back" in text_of_page(made, 2)


def test_a_unit_that_was_not_run_has_one_page() -> None:
    made = unrun_document()
    first = text_of_page(made, 1)
    for told in ("NOT RUN", "the unit does not start", "no verdict", "WO-20418", "page 1 of 1"):
        assert told in first
    kept = {"unrun.json", "colophon.json"}
    assert set(parse_document(made)) == kept


def test_the_same_files_give_the_same_bytes() -> None:
    assert document_of(small_report(), BESIDE) == document_of(small_report(), BESIDE)
    assert document_of(small_report(), BESIDE) != document_of(small_report(), BESIDE, SAME)


@pytest.mark.oracle
def test_the_files_come_out_as_they_went_in(tmp_path: Path) -> None:
    made = document_of(small_report(), BESIDE)
    wanted = {
        "report.json": render_json(small_report()),
        "colophon.json": render_colophon(COLOPHON),
        **BESIDE,
    }
    assert dict(parse_document(made)) == wanted
    told_by("pdfdetach", made, "-saveall", "-o", str(tmp_path), "{}")
    assert {file.name: file.read_bytes() for file in tmp_path.iterdir()} == wanted


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2026-11-20T09:00:19Z", "Nov 20 00:00:00 2026"),
        ("2026-13-40T09:00:19Z", "Jan  1 00:00:00 1970"),
        ("yesterday", "Jan  1 00:00:00 1970"),
    ],
)
@pytest.mark.oracle
def test_its_day_is_that_of_the_report(text: str, day: str) -> None:
    report = small_report()
    finished = Moment(text=text, source="typed")
    report = replace(report, circumstances=replace(report.circumstances, finished=finished))
    assert day in told_by("pdfinfo", document_of(report), "{}")


@given(report=reports, text=texts)
@example(report=small_report(), text='#panic("x") *b* $x$ `c` <l> @r \\ // = - + ~ -- ... #{} [')
@example(report=small_report(), text="\x1b[2J\u202e\ue000\U0001f600\U000e0041\u0378\u200b")
@example(report=small_report(), text="Å é ß Ж Ω ﬁ ½ … ✓ — “x” e\u0301 \u05d0\u0627")
@settings(max_examples=12)
@pytest.mark.unmeasured
def test_any_text_is_shown_in_its_safe_form_and_embedded_as_it_is(
    report: Report, text: str
) -> None:
    """The reason stands on page one and in the annex: nothing acts, nothing is lost."""
    told = replace(report, reasons=(f"begin{text}end", *report.reasons))
    made = document_of(told)
    assert parse_document(made)["report.json"] == render_json(told)
    shown = "".join(fit_fonts(make_safe(f"begin{text}end")).split())
    assert whole_text(made).count(shown) >= 2


def test_every_character_of_the_fonts_is_there() -> None:
    """The typesetter refuses a character without a glyph; in plain, bold and fixed letters."""
    ranges = re.findall(r"(.)-(.)|(.)", f"{LETTERS}{SIGNS}", re.DOTALL)
    every = "".join(
        chr(number)
        for first, last, single in ranges
        for number in range(ord(first or single), ord(last or single) + 1)
    )
    pieces = [every[at : at + 30] for at in range(0, len(every), 30)]
    bare = small_report()
    told = replace(
        bare,
        reasons=tuple(pieces),
        first_steps=tuple(replace(bare.first_steps[0], title=piece) for piece in pieces),
        unanswered=tuple(Unanswered(question=piece, error="EIO") for piece in pieces),
    )
    shown = whole_text(document_of(told))
    for piece in pieces:
        assert shown.count("".join(piece.split())) >= 3, piece


def test_what_is_too_much_for_paper_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(document, "LARGEST_FILES", 1000)
    with pytest.raises(DocumentError, match="more than 1000 bytes of files are too much"):
        document_of(small_report())
    monkeypatch.undo()
    monkeypatch.setattr(document, "LARGEST_PAGE", 1000)
    with pytest.raises(DocumentError, match="more than 1000 characters is too much for paper"):
        render_document({"unrun.json": render_unrun_json(sample_unrun())}, COLOPHON)


@pytest.mark.slow
def test_the_whole_sample_shows_every_reading() -> None:
    """What stands in the report's inventory is on paper, field by field."""
    report = sample_report()
    shown = whole_text(document_of(report))
    for section in report.inventory.sections:
        for device in section.devices:
            for reading in (device.label, *map(str, attributes_of(type(device)))):
                assert "".join(fit_fonts(make_safe(reading)).split()) in shown
    for finding in report.findings:
        assert "".join(fit_fonts(make_safe(finding.found)).split()) in shown
