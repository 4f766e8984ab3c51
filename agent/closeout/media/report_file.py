"""A report as one file for a stick: packed from its folder, named, and told of when it is read."""

from __future__ import annotations

import io
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from closeout.decode.failure import DecodeError
from closeout.decode.report_file import CutShortError, ReportFile, decode_report_file, make_closing
from closeout.model.frozen import frozen
from closeout.report.failure import ReportError
from closeout.report.from_json import load_report

REPORT: Final = "report.json"
SUFFIX: Final = ".zip"
UNREADABLE: Final = "not read by this version"
LARGEST_FILE: Final = 64 << 20
DATED: Final = (1980, 1, 1, 0, 0, 0)
"""The first that a ZIP can say: the clock of a unit under test dates nothing."""
PLAIN_FILE: Final = 0o100644 << 16
UNIX: Final = 3


@frozen
class Kept:
    """A report file that is whole: what its report says of itself."""

    order: str
    attempt: str
    verdict: str


@frozen
class Spoiled:
    """A report file that is not: `state` is "cut short" or "damaged", and why."""

    state: str
    why: str


def file_stem(order_folder: str, attempt: str) -> str:
    """`T-1-attempt-0002-3fa2c1d9`, of the names that order and attempt have as folders."""
    return f"{order_folder}-{attempt}"


def pack_folder(folder: Path) -> bytes:
    """The report file of an attempt's folder; raises OSError where it cannot be read.

    The members have the folder's name and the order's in front: unpacked into a folder of reports
    they lie where the attempt belongs.
    """
    files = {
        f"{folder.parent.name}/{folder.name}/{file.name}": file.read_bytes()
        for file in sorted(folder.iterdir())
        if file.is_file()
    }
    return pack_report(files)


def pack_report(files: Mapping[str, bytes]) -> bytes:
    """The same bytes for the same files, whenever and in whatever order they are given."""
    from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo  # noqa: PLC0415 - a check needs no archiver

    packed = io.BytesIO()
    with ZipFile(packed, "w", ZIP_DEFLATED, compresslevel=9) as archive:
        for name in sorted(files):
            entry = ZipInfo(name, DATED)
            entry.create_system, entry.external_attr = UNIX, PLAIN_FILE
            entry.compress_type = ZIP_DEFLATED
            archive.writestr(entry, files[name])
        archive.comment = make_closing(b"")  # as long as the one that takes its place
    body = packed.getvalue()[: -len(make_closing(b""))]
    return body + make_closing(body)


def read_report_file(raw: bytes, stem: str) -> Kept | Spoiled:
    """What is in a report file, and whether it is the one that its name says."""
    try:
        found = decode_report_file(raw)
    except CutShortError as error:
        return Spoiled(state="cut short", why=error.message)
    except DecodeError as error:
        return Spoiled(state="damaged", why=str(error))
    return _tell(found, stem)


def _tell(found: ReportFile, stem: str) -> Kept | Spoiled:
    """What the report says of itself; one that this version cannot read is whole all the same."""
    order, attempt = found.members[0].name.split("/")[:2]
    own = file_stem(order, attempt)
    if stem != own and not stem.removeprefix(f"{own}-").isdigit():
        return Spoiled(state="damaged", why=f"another report is in it, {own}")
    named = [member for member in found.members if member.name == f"{order}/{attempt}/{REPORT}"]
    try:
        report = load_report(named[0].content if named else b"")
    except ReportError as error:
        return Kept(order=order, attempt=attempt, verdict=f"{UNREADABLE}: {error}")
    return Kept(order=report.circumstances.order, attempt=attempt, verdict=report.verdict.value)
