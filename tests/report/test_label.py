"""The label: read by a person without colours and by a scanner at a label printer's dots."""

import subprocess
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest

from closeout.model.frozen import replace
from closeout.model.report import Report
from closeout.model.verdict import Verdict
from closeout.report.as_json import render_json
from closeout.report.failure import DocumentError
from closeout.report.label import Label, Size, label_of, label_of_unrun, render_label
from closeout.report.qr_code import tell_identity
from closeout.report.redact import redact
from closeout.report.unrun_json import render_unrun_json
from strategies.documents import (
    SEAL,
    document_of,
    sample_unrun,
    small_report,
    told_by,
    unrun_document,
)
from strategies.reports import with_texts
from strategies.sample_report import sample_report

pytestmark = pytest.mark.wheel_oracle
SMALL = Size(width=62, height=29, dpi=203)
LARGE = Size(width=100, height=50, dpi=203)


def label(report: Report, *, seal: bytes = SEAL, with_serial: bool = False) -> Label:
    files = {"report.json": render_json(report), "report.jws": seal}
    return label_of(report, files, with_serial=with_serial)


def lines_of(made: Label) -> list[str]:
    return [text for text, _ in made.lines]


def picture(png: bytes) -> Any:  # noqa: ANN401 - the library's own
    from PIL import Image  # noqa: PLC0415 - where the libraries are

    return Image.open(BytesIO(png))


def read_codes(image: Any) -> list[str]:  # noqa: ANN401 - as above
    import zxingcpp  # noqa: PLC0415 - as above

    return [found.text for found in zxingcpp.read_barcodes(image.convert("L"))]


def test_it_says_the_verdict_and_which_report_in_words() -> None:
    report = sample_report()
    made = label(report)
    assert made.verdict == "✗ HOLD"
    digest = tell_identity(report, render_json(report))[-64:]
    assert lines_of(made) == [
        "WO-20417",
        "attempt 2, revision 2",
        "2025-03-14",
        "Quill 14",
        f"sha256 {digest[:12]}",
    ]


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda report: replace(report, verdict=Verdict.RELEASE), "WITH CONCESSION"),
        (redact, "REDACTED"),
        (
            lambda report: replace(
                report, circumstances=replace(report.circumstances, is_draft=True)
            ),
            "DRAFT",
        ),
    ],
)
def test_what_must_not_be_overlooked_is_on_it(
    change: Callable[[Report], Report], told: str
) -> None:
    assert told in lines_of(label(change(sample_report())))


def test_an_unsealed_report_is_told_and_a_serial_only_where_it_is_wanted() -> None:
    serial = "SN-17-4711"
    report = with_texts(sample_report(), lambda own: own)
    assert lines_of(label(report, seal=b""))[-1] == "NOT SEALED"
    assert "serial not read" in lines_of(label(report, with_serial=True))
    system = report.inventory.sections[0]
    named = replace(system.devices[0], serial=replace(system.devices[0].product, value=serial))
    sections = (replace(system, devices=(named,)), *report.inventory.sections[1:])
    report = replace(report, inventory=replace(report.inventory, sections=sections))
    assert serial in lines_of(label(report, with_serial=True))
    assert serial not in lines_of(label(report))


@pytest.mark.parametrize("verdict", Verdict)
@pytest.mark.parametrize("size", [SMALL, LARGE, Size(width=50, height=25, dpi=300)])
def test_its_code_is_read_at_the_printers_dots(verdict: Verdict, size: Size) -> None:
    made = label(replace(sample_report(), verdict=verdict))
    image = picture(render_label(made, size, as_picture=True))
    assert image.info["dpi"] == pytest.approx((size.dpi, size.dpi), abs=0.1)
    assert image.size == pytest.approx(
        (size.width * size.dpi / 25.4, size.height * size.dpi / 25.4), abs=1
    )
    assert read_codes(image) == [made.code]
    two_tone = image.convert("L").point(lambda shade: 255 * (shade > 127))
    assert read_codes(two_tone) == [made.code]


@pytest.mark.oracle
@pytest.mark.parametrize(
    "text", ["#panic() [", "W" * 99, "\u202e漢" * 40, ""], ids=["markup", "long", "hidden", "own"]
)
def test_any_text_leaves_it_one_label_that_can_be_read(text: str) -> None:
    made = label(with_texts(sample_report(), lambda own: own + text))
    printed = render_label(made, SMALL, as_picture=False)
    assert printed == render_label(made, SMALL, as_picture=False)
    facts = told_by("pdfinfo", printed, "{}")
    assert "Pages:           1" in facts
    assert "Page size:       175.748 x 82.2047 pts" in facts
    assert "HOLD" in told_by("pdftotext", printed, "{}", "-")


@pytest.mark.oracle
@pytest.mark.parametrize("size", [SMALL, LARGE, Size(width=62, height=100, dpi=203)])
def test_no_line_is_cut_that_fits_when_it_is_smaller(size: Size, tmp_path: Path) -> None:
    """Of two revisions the number tells which one the lid has."""
    file = tmp_path / "label.pdf"
    file.write_bytes(render_label(label(sample_report()), size, as_picture=False))
    told = subprocess.run(("pdftotext", file, "-"), capture_output=True, text=True, check=True)
    assert "attempt 2, revision 2" in told.stdout
    assert "…" not in told.stdout


def test_a_unit_that_was_not_run_has_one() -> None:
    made = label_of_unrun(render_unrun_json(sample_unrun()))
    assert made.verdict == "NOT RUN"
    assert lines_of(made)[:3] == ["WO-20418", "no-boot, by T-07", "2026-11-20"]
    assert read_codes(picture(render_label(made, SMALL, as_picture=True))) == [made.code]


def test_what_is_too_small_for_its_code_is_refused() -> None:
    with pytest.raises(DocumentError, match=r"its code needs \d+ mm to be read; take a larger"):
        render_label(label(sample_report()), Size(width=40, height=10, dpi=203), as_picture=True)


@pytest.mark.oracle
@pytest.mark.parametrize("what", ["report", "unrun"])
def test_the_code_of_the_document_is_read_off_its_page(what: str, tmp_path: Path) -> None:
    report = small_report()
    made = document_of(report) if what == "report" else unrun_document()
    (tmp_path / "made.pdf").write_bytes(made)
    command = ("pdftoppm", "-r", "150", "-singlefile", "-png", "made.pdf", "page")
    subprocess.run(command, check=True, cwd=tmp_path)
    (read,) = read_codes(picture((tmp_path / "page.png").read_bytes()))
    if what == "report":
        assert read == tell_identity(report, render_json(report))
    else:
        assert read.splitlines()[:3] == ["closeout unrun", "order WO-20418", "number 1"]
