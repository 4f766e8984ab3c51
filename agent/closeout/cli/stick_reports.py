"""`closeout media reports`: every report file and document on a stick, and whether it is whole.

Ends with 2 when one is damaged; one that was cut short is told, and another attempt follows it.
What is in a document is for `closeout report verify`; here its end alone is looked at.
"""

from __future__ import annotations

import argparse
import os
from collections import Counter
from pathlib import Path
from typing import Final

from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import DONE, ExitCode, InputTroubleError
from closeout.cli.words import say_line
from closeout.media.report_file import LARGEST_FILE, SUFFIX, Kept, Spoiled, read_report_file
from closeout.media.shared import REPORTS
from closeout.media.stick.keep import DOCUMENT_SUFFIX

END_OF_PDF: Final = b"%%EOF"
LAST_BYTES: Final = 16


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds the stick."""
    parser.add_argument(
        "path", metavar="PATH", type=Path, help="where the stick is mounted, or a folder of files"
    )


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """A line for each file, and one for all."""
    counts = Counter[str]()
    for file in _files_of(options.path):
        told = _read(file)
        if isinstance(told, Kept):
            state = "intact"
            line = f"order {told.order or 'none'}, {told.attempt}: {told.verdict}"
        else:
            state, line = told.state, told.why
        counts[state] += 1
        say_line(f"{state:<10} {file.name}: {line}", surroundings.stdout)
    for file in _files_of(options.path, DOCUMENT_SUFFIX):
        say_line(f"{_state_of_document(file):<10} {file.name}", surroundings.stdout)
    states = ("intact", "cut short", "damaged")
    say_line(", ".join(f"{counts[state]} {state}" for state in states), surroundings.stdout)
    return ExitCode.BAD_INPUT if counts["damaged"] else DONE


def _files_of(path: Path, suffix: str = SUFFIX) -> list[Path]:
    """What a stick holds of this kind, or a folder. Raises InputTroubleError."""
    inside = path / REPORTS
    folder = inside if inside.is_dir() else path
    try:
        found = [file for file in folder.iterdir() if file.suffix.lower() == suffix]
    except OSError as error:
        raise InputTroubleError(
            f"{folder}: {error.strerror}; give the folder where the stick is mounted"
        ) from error
    return sorted(file for file in found if not file.name.startswith("."))


def _state_of_document(file: Path) -> str:
    """A PDF ends with a mark (ISO 32000-1, 7.5.5), after which a line end may follow."""
    try:
        with file.open("rb") as opened:
            opened.seek(0, os.SEEK_END)
            opened.seek(max(0, opened.tell() - LAST_BYTES))
            return "document" if END_OF_PDF in opened.read() else "cut short"
    except OSError as error:
        return f"cannot be read: {error.strerror}:"


def _read(file: Path) -> Kept | Spoiled:
    try:
        with file.open("rb") as opened:
            raw = opened.read(LARGEST_FILE + 1)
    except OSError as error:
        return Spoiled(state="damaged", why=f"cannot be read: {error.strerror}")
    if len(raw) > LARGEST_FILE:
        return Spoiled(state="damaged", why=f"larger than {LARGEST_FILE} bytes")
    return read_report_file(raw, file.stem)
