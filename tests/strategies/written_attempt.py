"""Attempts that a check wrote, for what comes after them."""

from pathlib import Path

from closeout.expect.shipped import shipped_folder
from closeout.model.report import Report
from closeout.report.from_json import load_report
from strategies.surroundings import call_in


def write_demo(folder: Path, *arguments: object, name: str = "fen-14-ribbon-left-out") -> Path:
    """The folder of a demo unit's next attempt, checked from its recording."""
    unit = shipped_folder("profiles") / "demo" / name
    out = folder / "closeout-reports"
    before = set(out.glob("*/*"))
    told = call_in(
        *(folder, "check", "--evidence", unit / "unit.jsonl.gz"),
        *("--work-order", unit / "work-order.toml", *arguments),
    )
    assert told.code in {0, 1, 3}, told.err
    (written,) = set(out.glob("*/*")) - before
    return written


def load(attempt: Path) -> Report:
    """Its report."""
    return load_report((attempt / "report.json").read_bytes())


def everything(folder: Path) -> dict[Path, bytes]:
    """Every file below a folder, with its bytes."""
    return {file: file.read_bytes() for file in folder.rglob("*") if file.is_file()}
