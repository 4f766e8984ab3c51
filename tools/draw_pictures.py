"""Draws the pictures of the README out of the demo units; needs chromium and pdftoppm.

Run by hand after a change of console or page, then look at what it drew.
"""

import io
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Final

from closeout import VERSION
from closeout.check import judge_evidence, read_out
from closeout.cli.demo import ORDER_FILE, demo_units
from closeout.cli.terminal import Terminal
from closeout.cli.terms import load_demands
from closeout.model.report import Report
from closeout.report.as_json import render_json
from closeout.report.colophon import Colophon
from closeout.report.console import render_console
from closeout.report.document import render_document
from closeout.report.page import render_page
from closeout.report.typesetting import typesetter

PICTURES: Final = Path(__file__).resolve().parent.parent / "docs" / "pictures"
SHOWN: Final = "osier-15-worn-pack"
COLUMNS: Final = 84
WINDOW: Final = "1040,1010"
BROWSER: Final = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


def report_shown() -> Report:
    """The report of the unit in the pictures."""
    unit = next(unit for unit in demo_units() if unit.folder.name == SHOWN)
    evidence = unit.evidence()
    readout = read_out(evidence)
    terms = load_demands(None, unit.folder / ORDER_FILE).terms(readout.inventory, 1)
    return judge_evidence(evidence, readout, terms)


def browse(folder: Path, *options: str) -> None:
    """Runs the browser with a profile of its own."""
    browser = shutil.which("chromium")
    if browser is None:
        sys.exit("chromium is not installed")
    command = [browser, *BROWSER, f"--user-data-dir={folder / 'browser'}", *options]
    subprocess.run(command, check=True, capture_output=True)


def draw_console(report: Report, folder: Path) -> None:
    """What the terminal shows."""
    console = Terminal(io.StringIO(), record=True, width=COLUMNS, force_terminal=True)
    render_console(report, console)
    console.save_svg(str(folder / "console.svg"), title="closeout check")
    picture = PICTURES / "console.png"
    browse(
        folder, f"--window-size={WINDOW}", f"--screenshot={picture}", str(folder / "console.svg")
    )


def draw_page(report: Report, folder: Path) -> None:
    """The first page of report.html on paper."""
    page = folder / "report.html"
    page.write_text(render_page(report), encoding="utf-8")
    paper = folder / "report.pdf"
    browse(folder, "--no-pdf-header-footer", f"--print-to-pdf={paper}", str(page))
    command = ["pdftoppm", "-png", "-r", "80", "-singlefile", str(paper), str(PICTURES / "page")]
    subprocess.run(command, check=True)


def draw_document(report: Report, folder: Path) -> None:
    """The first page of report.pdf."""
    colophon = Colophon(agent=f"closeout {VERSION}", typesetter=typesetter())
    paper = folder / "document.pdf"
    paper.write_bytes(render_document({"report.json": render_json(report)}, colophon))
    picture = PICTURES / "document"
    command = ["pdftoppm", "-png", "-r", "80", "-singlefile", str(paper), str(picture)]
    subprocess.run(command, check=True)


def main() -> None:
    """Draws all three."""
    report = report_shown()
    with tempfile.TemporaryDirectory() as folder:
        draw_console(report, Path(folder))
        draw_page(report, Path(folder))
        draw_document(report, Path(folder))
    for picture in sorted(PICTURES.glob("*.png")):
        print(picture.name, picture.stat().st_size)


if __name__ == "__main__":
    main()
