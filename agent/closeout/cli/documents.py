"""Records for paper: the files of an attempt, in its folder or in a document made of it."""

from __future__ import annotations

import argparse
from collections.abc import Generator, Mapping
from contextlib import contextmanager
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Final

from closeout import VERSION
from closeout.cli.files import is_file, is_folder, read_file
from closeout.cli.judged_again import is_same, judge_again
from closeout.cli.recorded_attempt import EVIDENCE_FILE, REPORT_FILE, newer_beside
from closeout.cli.source import load_evidence
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import InputTroubleError
from closeout.cli.words import say_line
from closeout.decode.failure import DecodeError
from closeout.decode.report_file import decode_report_file
from closeout.kernel.evidence_file import digest_evidence
from closeout.model.frozen import frozen
from closeout.model.report import Report
from closeout.report.embedded import (
    BY_NAME,
    COLOPHON,
    KINDS,
    LARGEST_DOCUMENT,
    UNRUN_SEAL,
    parse_document,
)
from closeout.report.failure import DocumentError, ReportError, StoreError
from closeout.report.from_json import load_report
from closeout.report.store import write_file

if TYPE_CHECKING:
    from closeout.report.colophon import JudgedAgain

UNRUN_FILE: Final = "unrun.json"
RECORDS: Final = (REPORT_FILE, UNRUN_FILE)
UNRUN_FILES: Final = frozenset({UNRUN_FILE, UNRUN_SEAL})
RUN_FILES: Final = frozenset(kind.name for kind in KINDS) - UNRUN_FILES
AGENT: Final = f"closeout {VERSION}"
REPORT_FILE_MARK: Final = b"PK"
DOCUMENT_MARK: Final = b"%PDF-"
SETS_DOCUMENTS: Final = ("segno", "typst")
READS_DOCUMENTS: Final = ("pypdf",)
NOTHING_THERE: Final = "there is nothing of this name, or it cannot be read"
NO_PLACE: Final = "there is no folder beside it; name where it goes with --out"
NEWER: Final = "Not the newest: {newer} lies beside it, with what was said of the unit since."
NO_RECORD: Final = f"holds no {REPORT_FILE}; give the folder of one attempt"
UNKNOWN_FILE: Final = (
    f"is neither a document nor a report file off a stick; a report is called {REPORT_FILE}, and"
    " what belongs to it lies beside it: give its folder"
)
NEEDED: Final = (
    "documents and labels need the libraries pypdf, segno and typst: install closeout[pdf]"
)


def add_record_argument(parser: argparse.ArgumentParser) -> None:
    """Adds what is put on paper."""
    parser.add_argument(
        "report",
        metavar="REPORT",
        type=Path,
        help=f"an attempt's folder, its {REPORT_FILE}, a report file off a stick, or a document",
    )


def require_libraries(names: tuple[str, ...]) -> None:
    """Raises InputTroubleError where a library for setting or reading documents is missing."""
    try:
        for name in names:
            import_module(name)
    except ImportError as error:
        raise InputTroubleError(NEEDED) from error


def is_document(named: Path) -> bool:
    """Whether a file is named that is no record itself: it can only be one that holds a record."""
    return is_file(named) and named.name not in RECORDS


@frozen
class Record:
    """The folder that holds a record; `document` are the bytes of the PDF that it came out of."""

    named: Path
    folder: Path
    document: bytes = b""
    is_taken_out: bool = False

    def newer(self, report: Report) -> str:
        """What was said of the unit since, in a sentence; empty where nothing lies beside it."""
        folder = self.named if is_folder(self.named) else self.named.parent
        newer = newer_beside(folder.resolve(), report)
        return NEWER.format(newer=newer) if newer else ""

    def show(self, line: str) -> str:
        """A line without the name of a folder that was there for a moment alone."""
        return line.replace(str(self.folder), str(self.named)) if self.is_taken_out else line


@contextmanager
def open_record(named: Path) -> Generator[Record]:
    """The record that is named: in its folder, or in one with what a document holds.

    What is taken out of a document is there as long as it is looked at, and for its owner alone.
    Raises InputTroubleError where it is no document.
    """
    if not is_document(named):
        place = named.parent if named.name in RECORDS else named
        if not is_file(named) and not is_folder(named):
            raise InputTroubleError(f"{named}: {NOTHING_THERE}")
        if is_folder(place) and not any(is_file(place / name) for name in RECORDS):
            raise InputTroubleError(f"{place}: {NO_RECORD}")
        yield Record(named=named, folder=place)
        return
    from tempfile import TemporaryDirectory  # noqa: PLC0415 - only for documents

    raw = read_file(named, LARGEST_DOCUMENT)
    is_report_file = raw.startswith(REPORT_FILE_MARK)
    files = _files_of_report_file(named, raw) if is_report_file else _files_of_pdf(named, raw)
    if not any(name in files for name in RECORDS):
        raise InputTroubleError(f"{named}: holds no {REPORT_FILE}; is it a document of closeout?")
    with TemporaryDirectory(prefix="closeout-") as folder:
        document = b"" if is_report_file else raw
        record = Record(named=named, folder=Path(folder), document=document, is_taken_out=True)
        for name, content in files.items():
            (record.folder / name).write_bytes(content)
        try:
            yield record
        except InputTroubleError as trouble:
            raise InputTroubleError(*map(record.show, trouble.lines)) from trouble


def _files_of_pdf(file: Path, raw: bytes) -> Mapping[str, bytes]:
    if not raw.startswith(DOCUMENT_MARK):
        raise InputTroubleError(f"{file}: {UNKNOWN_FILE}")
    require_libraries(READS_DOCUMENTS)
    try:
        return parse_document(raw)
    except DocumentError as error:
        raise InputTroubleError(f"{file}: {error}") from error


def _files_of_report_file(file: Path, raw: bytes) -> Mapping[str, bytes]:
    """The files of an attempt as a stick keeps them, all in one folder of the archive."""
    try:
        members = decode_report_file(raw).members
    except DecodeError as error:
        raise InputTroubleError(f"{file}: {error}") from error
    files = {member.name.rpartition("/")[2]: member.content for member in members}
    return {name: content for name, content in files.items() if name in BY_NAME}


def read_record(folder: Path) -> Mapping[str, bytes]:
    """What a document of the record in this folder holds. Raises InputTroubleError."""
    is_unrun = is_file(folder / UNRUN_FILE)
    main = UNRUN_FILE if is_unrun else REPORT_FILE
    left_out = {COLOPHON, *(RUN_FILES if is_unrun else UNRUN_FILES)}
    return {
        kind.name: read_file(folder / kind.name, kind.largest)
        for kind in KINDS
        if kind.name == main or (kind.name not in left_out and is_file(folder / kind.name))
    }


def say_newer(record: Record, files: Mapping[str, bytes], surroundings: Surroundings) -> None:
    """Says where paper is made of what somebody has said more of since."""
    if REPORT_FILE in files and (
        newer := record.newer(load_record(record.folder, files[REPORT_FILE]))
    ):
        say_line(f"closeout: {newer}", surroundings.stderr)


def load_record(folder: Path, raw: bytes) -> Report:
    """The report in these bytes. Raises InputTroubleError where it is none."""
    try:
        return load_report(raw)
    except ReportError as error:
        raise InputTroubleError(f"{folder / REPORT_FILE}: no report: {error}") from error


def judge_now(report: Report, folder: Path, profile: str | None) -> JudgedAgain | None:
    """What this version says of the evidence in the folder; None where not all of it is there."""
    from closeout.report.colophon import JudgedAgain  # noqa: PLC0415 - only for documents

    place = folder / EVIDENCE_FILE
    if report.redacted:
        return None
    try:
        if digest_evidence(load_evidence(place)) != report.circumstances.evidence_digest:
            return None
        now = judge_again(report, place, profile)
    except InputTroubleError:
        return None
    return JudgedAgain(verdict=now.verdict, is_same=is_same(report, now))


def keep_file(file: Path, content: bytes, what: str) -> None:
    """Writes it where there is none yet. Raises InputTroubleError where that cannot be done."""
    try:
        write_file(file, content)
    except StoreError as error:
        raise InputTroubleError(f"the {what} was not written: {error}") from error
