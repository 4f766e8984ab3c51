"""`closeout report label`: the verdict for the unit's lid or bag, with a code of which report."""

from __future__ import annotations

import argparse
import re
from pathlib import Path
from typing import TYPE_CHECKING, Final

from closeout.cli.documents import (
    NO_PLACE,
    SETS_DOCUMENTS,
    UNRUN_FILE,
    add_record_argument,
    keep_file,
    load_record,
    open_record,
    read_record,
    require_libraries,
    say_newer,
)
from closeout.cli.recorded_attempt import REPORT_FILE
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import DONE, ExitCode, InputTroubleError
from closeout.cli.words import say_line
from closeout.kernel.privacy import forbid_core_dumps
from closeout.report.failure import DocumentError, ReportError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from closeout.report.label import Label

USUAL: Final = "62x29"
DPI: Final = 203
FORMATS: Final = ("pdf", "png")
SIZE: Final = re.compile(r"(\d{1,3}(?:\.\d)?)x(\d{1,3}(?:\.\d)?)")
WIDTHS, HEIGHTS, DENSITIES = (40, 210), (20, 297), (150, 1200)
"""Below these nothing would be read any more; above it is a sheet of paper."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds the record, the form and where to."""
    add_record_argument(parser)
    parser.add_argument(
        "--size", metavar="WxH", default=USUAL, help=f"millimetres, as 100x50 (else: {USUAL})"
    )
    parser.add_argument("--format", choices=FORMATS, help="(else: by the ending of FILE, or pdf)")
    parser.add_argument(
        "--dpi", metavar="N", type=int, default=DPI, help=f"dots an inch of the printer ({DPI})"
    )
    parser.add_argument("--serial", action="store_true", help="with the unit's serial number")
    parser.add_argument(
        "-o", "--out", metavar="FILE", type=Path, help="where to (else: label.FORMAT beside it)"
    )


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Writes the label to a new file."""
    forbid_core_dumps()
    require_libraries(SETS_DOCUMENTS)
    from closeout.report.label import Size, render_label  # noqa: PLC0415 - with the libraries

    form = _format(options.format, options.out)
    width, height = _size(options.size)
    size = Size(width=width, height=height, dpi=_within("--dpi", options.dpi, DENSITIES, "dots"))
    with open_record(options.report) as record:
        if record.is_taken_out and not options.out:
            raise InputTroubleError(f"{options.report}: {NO_PLACE}")
        files = read_record(record.folder)
        label = _label(files, record.folder, with_serial=options.serial)
        say_newer(record, files, surroundings)
    try:
        content = render_label(label, size, as_picture=form == "png")
    except DocumentError as error:
        raise InputTroubleError(f"no label of {options.size}: {error}") from error
    file = surroundings.folder / options.out if options.out else None
    file = file or record.folder / f"label.{form}"
    keep_file(file, content, "label")
    say_line(f"Label: {file}; print it at full size", surroundings.stdout)
    return DONE


def _label(files: Mapping[str, bytes], folder: Path, *, with_serial: bool) -> Label:
    from closeout.report.label import label_of, label_of_unrun  # noqa: PLC0415 - with the libraries

    if UNRUN_FILE not in files:
        report = load_record(folder, files[REPORT_FILE])
        return label_of(report, files, with_serial=with_serial)
    try:
        return label_of_unrun(files[UNRUN_FILE])
    except ReportError as error:
        raise InputTroubleError(f"{folder / UNRUN_FILE}: no record: {error}") from error


def _format(asked: str | None, out: Path | None) -> str:
    """What was asked for, and else what the file is named for; they may not contradict."""
    named = out.suffix.lower().removeprefix(".") if out else ""
    if asked and named in FORMATS and named != asked:
        raise InputTroubleError(
            f"--out: {out}: is named .{named}, and --format asks for {asked}: leave out one"
        )
    if named and named not in FORMATS and not asked:
        raise InputTroubleError(
            f"--out: {out}: is named .{named}: end it with .pdf or .png, or give --format"
        )
    return asked or named or "pdf"


def _size(text: str) -> tuple[float, float]:
    found = SIZE.fullmatch(text)
    if found is None:
        raise InputTroubleError(f"--size: {text!r}: give width x height in millimetres, as {USUAL}")
    width = _within("--size", float(found[1]), WIDTHS, "mm wide")
    return width, _within("--size", float(found[2]), HEIGHTS, "mm high")


def _within(name: str, value: float, limits: tuple[int, int], unit: str) -> float:
    least, most = limits
    if not least <= value <= most:
        raise InputTroubleError(f"{name}: {value:g}: allowed are {least} to {most} {unit}")
    return value
