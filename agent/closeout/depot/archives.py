"""Reports in archives, which strangers hand over: read through, and never unpacked to the disk.

Names in an archive only say what lies together. How much is read is limited by the archive's own
length, so that a small file cannot become a large one; a report file or a document in an archive is
opened, an archive in an archive is not. In a ZIP a damaged file costs its own folder alone; behind
the damage in a tar nothing can be found again.
"""

from __future__ import annotations

import bz2
import gzip
import lzma
import os
import re
import tarfile
import zipfile
import zlib
from collections.abc import Callable, Iterator, Mapping
from itertools import groupby
from pathlib import Path, PurePosixPath
from typing import IO, Any, Final, Protocol, TypeAlias, cast

from closeout.depot.bundle import DOCUMENT, KEPT_NAMES, LARGEST, MAINS, Bundle, Spoiled, bundles_of
from closeout.depot.opened import (
    NO_REPORT,
    TOO_LARGE,
    UnreadError,
    open_plain,
    read_document,
    read_report_files,
)

MOST_TIMES: Final = 600
"""How much longer than the archive what is in it may be; reports come to 10 to 100 times."""
FREE: Final = 256 << 20
"""Bytes that even the shortest archive may come to."""
LARGEST_DIRECTORY: Final = 64 << 20
LONGEST_READ: Final = LARGEST + (1 << 20)
LONGEST_HEADER: Final = 1 << 13
"""Bytes that stand before a file of a tar to give it a longer name, of at most 4096 bytes."""
BLOCK: Final = 512
DIGITS: Final = re.compile(rb"[0-9]{64}")
"""More than any length in such a header has; the library looks on from each digit."""
END_OF_ZIP: Final = 1 << 16
ENCRYPTED_FLAG: Final = 1
WAYS: Final = frozenset({zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED})
"""How a file of a ZIP may be packed: those that the library unpacks no further than was asked."""
BOMB: Final = "unpacks to far more than a depot's reports would: not read any further"
DAMAGED: Final = "the archive is damaged, and not read any further"
LARGE_DIRECTORY: Final = "more files in it than are read at once: make several archives of it"
ZST: Final = ".zst needs another program: unpack it, and give the .tar"
ENCRYPTED: Final = "encrypted: unpack it, and give what was in it"
OTHER_WAY: Final = "packed in a way that is not read here: store or deflate it"
DAMAGED_FILE: Final = "damaged in the archive"
NO_MEMORY: Final = "it asks for more memory than there is"
TWICE: Final = "two files of this name in the archive, and they differ: neither is taken"
FAULTS: Final = (
    *(zipfile.BadZipFile, tarfile.TarError, zlib.error, lzma.LZMAError, EOFError, OSError),
    *(NotImplementedError, RuntimeError, ValueError, MemoryError),
)
"""What the standard library says of a damaged archive; MemoryError where it asks for too much."""


Opener: TypeAlias = Callable[[str, bytes], Iterator[Bundle | Spoiled]]


class BombError(Exception):
    """The archive unpacks to too much; the text is the reason."""


class Member(Protocol):
    """One file of an archive."""

    name: str

    def read(self) -> bytes | None:
        """Its bytes, None where they are more than any report has."""
        ...


def open_archive(path: Path) -> Iterator[Bundle | Spoiled]:
    """Every report in the archive, each folder's files together."""
    found = False
    try:
        for arrival in _reports_of(str(path), _members_of(path)):
            found = True
            yield arrival
    except (BombError, UnreadError) as error:
        yield Spoiled(place=str(path), reason=str(error))
    except FAULTS as failure:
        yield Spoiled(place=str(path), reason=f"{DAMAGED} ({str(failure) or NO_MEMORY})")
    else:
        if not found:
            yield Spoiled(place=str(path), reason=NO_REPORT)


def _members_of(path: Path) -> Iterator[Member]:
    name = path.name.lower()
    opener = next((opener for ending, opener in ARCHIVES.items() if name.endswith(ending)), None)
    if opener is None:
        raise UnreadError(ZST)
    with os.fdopen(open_plain(path, follows=True), "rb") as stream:
        yield from opener(stream)


def _reports_of(place: str, members: Iterator[Member]) -> Iterator[Bundle | Spoiled]:
    for folder, group in groupby(members, key=lambda member: member.name.rpartition("/")[0]):
        files: dict[str, bytes] = {}
        is_whole = True
        for member in group:
            try:
                yield from _look_at(member, f"{place}: {member.name}", files)
            except UnreadError as error:
                is_whole = False
                yield Spoiled(place=f"{place}: {member.name}", reason=str(error))
        if is_whole:
            yield from bundles_of(f"{place}: {folder}", files)


def _look_at(member: Member, where: str, files: dict[str, bytes]) -> Iterator[Bundle | Spoiled]:
    """A file of a report put to those of its folder; the reports of one that holds its own.

    Raises UnreadError for a file without which the others of its folder are no whole report.
    """
    name = member.name.rpartition("/")[2]
    is_alone = not name.startswith(".") and files.keys().isdisjoint(MAINS)
    if name in KEPT_NAMES:
        raw = member.read()
        if raw is None:
            yield Spoiled(place=where, reason=TOO_LARGE)
        elif files.setdefault(name, raw) != raw:
            raise UnreadError(TWICE)
    elif opener := OPENERS.get(PurePosixPath(name).suffix.lower()) if is_alone else None:
        yield from _opened(member, where, opener)


def _opened(member: Member, where: str, opener: Opener) -> Iterator[Bundle | Spoiled]:
    try:
        raw = member.read()
    except UnreadError as error:
        yield Spoiled(place=where, reason=str(error))
        return
    if raw is None:
        yield Spoiled(place=where, reason=TOO_LARGE)
    else:
        yield from opener(where, raw)


class _ZipMember:
    """A file in a ZIP."""

    def __init__(self, archive: zipfile.ZipFile, entry: zipfile.ZipInfo) -> None:
        self.name = entry.filename
        self._archive = archive
        self._entry = entry

    def read(self) -> bytes | None:
        """Its bytes, never more than it says. Raises UnreadError where they are damaged."""
        if self._entry.file_size > LARGEST:
            return None
        if self._entry.flag_bits & ENCRYPTED_FLAG:
            raise UnreadError(ENCRYPTED)
        if self._entry.compress_type not in WAYS:
            raise UnreadError(OTHER_WAY)
        try:
            with self._archive.open(self._entry) as stream:
                return stream.read(LARGEST)
        except FAULTS as failure:
            raise UnreadError(f"{DAMAGED_FILE} ({failure})") from failure


def _open_zip(stream: IO[bytes]) -> Iterator[Member]:
    length = stream.seek(0, os.SEEK_END)
    if _directory_length(stream, length) > LARGEST_DIRECTORY:
        raise BombError(LARGE_DIRECTORY)
    with zipfile.ZipFile(stream) as archive:
        entries = sorted(archive.infolist(), key=lambda entry: entry.filename.rpartition("/"))
        total = 0
        for entry in entries:
            total += entry.file_size
            if total > length * MOST_TIMES + FREE:
                raise BombError(BOMB)
            if not entry.is_dir():
                yield _ZipMember(archive, entry)


def _directory_length(stream: IO[bytes], length: int) -> int:
    """How long its directory is (APPNOTE 4.3.14, 4.3.16), which the library reads whole."""
    stream.seek(max(0, length - END_OF_ZIP - 22))
    tail = stream.read()
    at = tail.rfind(b"PK\x05\x06")
    wide = tail.rfind(b"PK\x06\x06")
    if wide >= 0:
        return int.from_bytes(tail[wide + 40 : wide + 48], "little")
    return int.from_bytes(tail[at + 12 : at + 16], "little") if at >= 0 else 0


class _Limited:
    """A stream that ends with BombError where it grows beyond what its archive may come to."""

    def __init__(self, stream: IO[bytes], most: int) -> None:
        self._stream = stream
        self._most = most
        self.is_in_file = False
        """Whether a file is read, and no header."""

    def tell(self) -> int:
        """Where reading goes on."""
        return self._stream.tell()

    def seek(self, place: int) -> int:
        """Goes on reading elsewhere; what is passed over is unpacked, so it counts."""
        while (left := place - self._stream.tell()) > 0 and self._read(min(left, 1 << 20)):
            pass
        return self._stream.tell()

    def read(self, length: int) -> bytes:
        """The next bytes; a header that is longer than any that a report needs is refused."""
        if length > (LONGEST_READ if self.is_in_file else LONGEST_HEADER):
            raise BombError(BOMB)
        raw = self._read(length)
        if length > BLOCK and not self.is_in_file and DIGITS.search(raw):
            raise BombError(BOMB)
        return raw

    def _read(self, length: int) -> bytes:
        if self._stream.tell() + length > self._most:
            raise BombError(BOMB)
        return self._stream.read(length)


class _TarMember:
    """A file in a tar, to be read before the next one."""

    def __init__(self, archive: tarfile.TarFile, entry: tarfile.TarInfo, under: _Limited) -> None:
        self.name = entry.name
        self._archive = archive
        self._entry = entry
        self._under = under

    def read(self) -> bytes | None:
        """Its bytes."""
        if self._entry.size > LARGEST:
            return None
        stream = self._archive.extractfile(self._entry)
        self._under.is_in_file = True
        try:
            return stream.read() if stream else None
        finally:
            self._under.is_in_file = False


def _open_tar(unpack: Callable[[IO[bytes]], IO[bytes]]) -> Callable[[IO[bytes]], Iterator[Member]]:
    def opener(stream: IO[bytes]) -> Iterator[Member]:
        length = stream.seek(0, os.SEEK_END)
        stream.seek(0)
        limited = _Limited(unpack(stream), length * MOST_TIMES + FREE)
        with tarfile.open(fileobj=cast("IO[bytes]", limited), mode="r:") as archive:
            while (entry := archive.next()) is not None:
                if entry.isreg() and not entry.issparse():
                    yield _TarMember(archive, entry, limited)
                _forget_members(archive)

    return opener


def _forget_members(archive: Any) -> None:  # noqa: ANN401 - the types leave the list out
    """Or the library would remember every file that it has seen."""
    archive.members.clear()


def _as_it_is(stream: IO[bytes]) -> IO[bytes]:
    return stream


def _gzip(stream: IO[bytes]) -> IO[bytes]:
    return cast("IO[bytes]", gzip.GzipFile(fileobj=stream))


def _xz(stream: IO[bytes]) -> IO[bytes]:
    return cast("IO[bytes]", lzma.LZMAFile(stream))


def _bzip2(stream: IO[bytes]) -> IO[bytes]:
    return cast("IO[bytes]", bz2.BZ2File(stream))


ARCHIVES: Final[Mapping[str, Callable[[IO[bytes]], Iterator[Member]]]] = {
    ".zip": _open_zip,
    ".tar": _open_tar(_as_it_is),
    ".tar.gz": _open_tar(_gzip),
    ".tgz": _open_tar(_gzip),
    ".tar.xz": _open_tar(_xz),
    ".txz": _open_tar(_xz),
    ".tar.bz2": _open_tar(_bzip2),
}
"""How a name ends, and what opens it."""
OPENERS: Final[Mapping[str, Opener]] = {".zip": read_report_files, DOCUMENT: read_document}
"""Files in an archive that hold reports of their own, by how their names end."""
UNKNOWN_ARCHIVES: Final = (".tar.zst", ".tzst")
"""Known by their names, and said to be unpacked first: the standard library opens none."""


def is_archive(name: str) -> bool:
    """Whether a file of this name is opened as an archive, or said to be one."""
    return name.lower().endswith((*ARCHIVES, *UNKNOWN_ARCHIVES))
