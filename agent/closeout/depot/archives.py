"""Reports in archives, which strangers hand over: read through, and never unpacked to the disk.

Names in an archive only say what lies together. How much is read is limited by the archive's own
length, so that a small file cannot become a large one; a report file in an archive is opened, an
archive in an archive is not.
"""

from __future__ import annotations

import bz2
import gzip
import lzma
import os
import tarfile
import zipfile
import zlib
from collections.abc import Callable, Iterator, Mapping
from itertools import groupby
from pathlib import Path
from typing import IO, Any, Final, Protocol, cast

from closeout.depot.bundle import KEPT_NAMES, LARGEST, Bundle, Spoiled, bundles_of
from closeout.depot.opened import UnreadError, open_plain, read_report_files

MOST_TIMES: Final = 600
"""How much longer than the archive what is in it may be; reports come to 10 to 100 times."""
FREE: Final = 256 << 20
"""Bytes that even the shortest archive may come to."""
LARGEST_DIRECTORY: Final = 64 << 20
LONGEST_READ: Final = LARGEST + (1 << 20)
END_OF_ZIP: Final = 1 << 16
BOMB: Final = "unpacks to far more than a depot's reports would: not read any further"
DAMAGED: Final = "the archive is damaged, and not read any further"
LARGE_DIRECTORY: Final = "more files in it than are read at once: make several archives of it"
ZST: Final = ".zst needs another program: unpack it, and give the .tar"
NO_REPORT: Final = "no report in it"
FAULTS: Final = (
    *(zipfile.BadZipFile, tarfile.TarError, zlib.error, lzma.LZMAError, EOFError, OSError),
    *(NotImplementedError, RuntimeError, ValueError),
)
"""What the standard library says of a damaged archive; RuntimeError where it is encrypted."""


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
        yield Spoiled(place=str(path), reason=f"{DAMAGED} ({failure})")
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
        for member in group:
            name = member.name.rpartition("/")[2]
            where = f"{place}: {member.name}"
            if name in KEPT_NAMES:
                raw = member.read()
                if raw is None:
                    yield Spoiled(place=where, reason=f"larger than {LARGEST} bytes")
                else:
                    files[name] = raw
            elif name.lower().endswith(".zip") and not name.startswith("."):
                raw = member.read()
                yield from () if raw is None else read_report_files(where, raw)
        yield from bundles_of(f"{place}: {folder}", files)


class _ZipMember:
    """A file in a ZIP."""

    def __init__(self, archive: zipfile.ZipFile, entry: zipfile.ZipInfo) -> None:
        self.name = entry.filename
        self._archive = archive
        self._entry = entry

    def read(self) -> bytes | None:
        """Its bytes, never more than it says."""
        if self._entry.file_size > LARGEST:
            return None
        with self._archive.open(self._entry) as stream:
            return stream.read(LARGEST)


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

    def tell(self) -> int:
        """Where reading goes on."""
        return self._stream.tell()

    def seek(self, place: int) -> int:
        """Goes on reading elsewhere; what is passed over is unpacked, so it counts."""
        while (left := place - self._stream.tell()) > 0 and self.read(min(left, 1 << 20)):
            pass
        return self._stream.tell()

    def read(self, length: int) -> bytes:
        """The next bytes; a header that claims to be longer than any report is refused."""
        if length > LONGEST_READ or self._stream.tell() + length > self._most:
            raise BombError(BOMB)
        return self._stream.read(length)


class _TarMember:
    """A file in a tar, to be read before the next one."""

    def __init__(self, archive: tarfile.TarFile, entry: tarfile.TarInfo) -> None:
        self.name = entry.name
        self._archive = archive
        self._entry = entry

    def read(self) -> bytes | None:
        """Its bytes."""
        if self._entry.size > LARGEST:
            return None
        stream = self._archive.extractfile(self._entry)
        return stream.read() if stream else None


def _open_tar(unpack: Callable[[IO[bytes]], IO[bytes]]) -> Callable[[IO[bytes]], Iterator[Member]]:
    def opener(stream: IO[bytes]) -> Iterator[Member]:
        length = stream.seek(0, os.SEEK_END)
        stream.seek(0)
        limited = _Limited(unpack(stream), length * MOST_TIMES + FREE)
        with tarfile.open(fileobj=cast("IO[bytes]", limited), mode="r:") as archive:
            while (entry := archive.next()) is not None:
                if entry.isreg() and not entry.issparse():
                    yield _TarMember(archive, entry)
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
UNKNOWN_ARCHIVES: Final = (".tar.zst", ".tzst")
"""Known by their names, and said to be unpacked first: the standard library opens none."""


def is_archive(name: str) -> bool:
    """Whether a file of this name is opened as an archive, or said to be one."""
    return name.lower().endswith((*ARCHIVES, *UNKNOWN_ARCHIVES))
