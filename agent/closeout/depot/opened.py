"""Files as they arrive: opened without waiting, read with a limit, and taken for what they are."""

from __future__ import annotations

import os
import stat
import zipfile
from collections.abc import Iterator, Mapping
from hashlib import sha256
from pathlib import Path
from typing import Final

from closeout.decode.failure import DecodeError
from closeout.decode.report_file import CLOSING_LENGTH, END, decode_report_file
from closeout.depot.bundle import LARGEST, Bundle, Spoiled, bundles_of
from closeout.report.failure import DocumentError

NO_FILE: Final = "no file but a pipe, a device or a socket"
A_LINK: Final = "a link; give what it leads to"
NO_REPORT: Final = "no report in it"
TOO_LARGE: Final = f"larger than {LARGEST} bytes"
END_MARK: Final = b"PK\x05\x06"


class UnreadError(Exception):
    """A file that could not be read; the text is the reason."""


def read_plain(path: Path, *, follows: bool = False) -> bytes:
    """The bytes of a plain file; raises UnreadError for everything else, and never waits."""
    handle = open_plain(path, follows=follows)
    with os.fdopen(handle, "rb") as stream:
        try:
            raw = stream.read(LARGEST + 1)
        except OSError as failure:
            raise UnreadError(f"cannot be read: {failure.strerror}") from failure
    if len(raw) > LARGEST:
        raise UnreadError(TOO_LARGE)
    return raw


def open_plain(path: Path, *, follows: bool = False) -> int:
    """A plain file's handle. A pipe is opened without waiting for whoever may write to it."""
    flags = os.O_RDONLY | os.O_NONBLOCK | os.O_CLOEXEC | (0 if follows else os.O_NOFOLLOW)
    try:
        handle = os.open(path, flags)
    except OSError as failure:
        is_link = not follows and path.is_symlink()
        why = A_LINK if is_link else f"cannot be read: {failure.strerror}"
        raise UnreadError(why) from failure
    if not stat.S_ISREG(os.fstat(handle).st_mode):
        os.close(handle)
        raise UnreadError(NO_FILE)
    return handle


def read_report_files(place: str, raw: bytes) -> Iterator[Bundle | Spoiled]:
    """The reports in a report file, as a stick holds them; its own digest is looked at first."""
    try:
        members = decode_report_file(raw).members
    except DecodeError as error:
        yield Spoiled(place=place, reason=str(error), digest=sha256(raw).hexdigest())
        return
    files: dict[str, dict[str, bytes]] = {}
    for member in members:
        folder, _, name = member.name.rpartition("/")
        files.setdefault(folder, {})[name] = member.content
    yield from bundles_or_none(place, files, sha256(raw).hexdigest())


def read_document(place: str, raw: bytes) -> Iterator[Bundle | Spoiled]:
    """The report in a document for paper, with what the document holds beside it."""
    from closeout.report.embedded import parse_document  # noqa: PLC0415 - only for documents

    try:
        files = parse_document(raw)
    except DocumentError as error:
        yield Spoiled(place=place, reason=str(error))
        return
    found = bundles_of(place, files)
    yield from found
    if not found:
        yield Spoiled(place=place, reason=NO_REPORT)


def bundles_or_none(
    place: str, folders: Mapping[str, Mapping[str, bytes]], digest: str
) -> Iterator[Bundle | Spoiled]:
    """The reports of the folders; one reason where there is none in any."""
    found = [one for files in folders.values() for one in bundles_of(place, files)]
    yield from found
    if not found:
        yield Spoiled(place=place, reason=NO_REPORT, digest=digest)


def is_report_file(path: Path) -> bool:
    """Whether a `.zip` is a report file, whole, cut short or damaged, and no archive of many.

    The end of its directory (APPNOTE 4.3.16) names a last line of just that length, also where that
    is cut off in the middle; with more cut off it is no ZIP any more.
    """
    with os.fdopen(open_plain(path, follows=True), "rb") as stream:
        stream.seek(max(0, stream.seek(0, os.SEEK_END) - END.size - CLOSING_LENGTH))
        tail = stream.read()
    at = tail.find(END_MARK)
    has_closing = tail[at:][END.size - 2 : END.size] == CLOSING_LENGTH.to_bytes(2, "little")
    return (at >= 0 and has_closing) or not zipfile.is_zipfile(path)
