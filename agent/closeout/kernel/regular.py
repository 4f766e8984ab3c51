"""Bytes of regular files and names of folders, by system calls that sysfs needs.

The size that stat tells is wrong for sysfs and procfs, so a file is read until it ends. Only
regular files are opened: to open a device node is to act on the device, and a FIFO would wait.
"""

from __future__ import annotations

import errno
import os
import stat
from typing import Final, NoReturn

from closeout.kernel.failure import ReadError, Reason
from closeout.kernel.limits import NAMES_BYTES, NAMES_LIMIT

CHUNK: Final = 65_536
OPEN_FLAGS: Final = os.O_RDONLY | os.O_NONBLOCK | os.O_CLOEXEC | os.O_NOCTTY


def encode_path(root: bytes, path: str) -> bytes:
    """The path below the root as the kernel takes it; undecodable names come through unharmed.

    Raises:
        ReadError: a path that starts at `/`, climbs with `..`, or holds a NUL, as EINVAL.
    """
    climbs = ".." in path and ".." in path.split("/")
    if climbs or path.startswith("/") or "\0" in path:
        raise ReadError(path, errno.EINVAL)
    return encode_sound(root, path)


def encode_sound(root: bytes, path: str) -> bytes:
    """The same for a path that was made out of one that `encode_path` took.

    Raises:
        ReadError: no file name, as EILSEQ.
    """
    try:
        return root + b"/" + path.encode("utf-8", "surrogateescape")
    except UnicodeEncodeError:
        raise ReadError(path, errno.EILSEQ) from None


def read_regular(place: bytes, question: str, limit: int) -> bytes:
    """The whole content of the regular file at a place.

    Raises:
        ReadError: with the kernel's errno; EISDIR for a folder; NOT_OFFERED for a device node, a
            FIFO or a socket; TOO_LARGE past the limit.
    """
    try:
        mode = os.stat(place).st_mode  # noqa: PTH116 - Path takes no bytes
    except OSError as failure:
        raise_as_read_error(question, failure)
    return read_looked_at(place, question, limit, mode)


def read_looked_at(place: bytes, question: str, limit: int, mode: int, flags: int = 0) -> bytes:
    """The same where stat or lstat has told the `mode`; `flags` are for the opening.

    Raises:
        ReadError: as `read_regular`.
    """
    _refuse_irregular(question, mode)
    try:
        descriptor = os.open(place, OPEN_FLAGS | flags)
        try:
            return _read_to_end(descriptor, question, limit)
        finally:
            os.close(descriptor)
    except OSError as failure:
        raise_as_read_error(question, failure)


def list_names(place: bytes, question: str) -> tuple[str, ...]:
    """The sorted names in the folder at a place.

    Raises:
        ReadError: with the kernel's errno; TOO_LARGE past `NAMES_LIMIT` or `NAMES_BYTES`.
    """
    names: list[bytes] = []
    size = 0
    try:
        with os.scandir(place) as entries:
            for entry in entries:
                names.append(entry.name)
                size += len(entry.name)
                if len(names) > NAMES_LIMIT or size > NAMES_BYTES:
                    raise ReadError(question, errno.EFBIG, Reason.TOO_LARGE)
    except OSError as failure:
        raise_as_read_error(question, failure)
    return tuple(sorted(decode_name(name) for name in names))


def decode_name(name: bytes) -> str:
    """A name as text, with bytes that are no UTF-8 kept as lone surrogates."""
    return name.decode("utf-8", "surrogateescape")


def raise_as_read_error(question: str, failure: OSError) -> NoReturn:
    """Raise the kernel's failure as a `ReadError`; EIO where it has no errno."""
    raise ReadError(question, failure.errno or errno.EIO) from None


def _refuse_irregular(question: str, mode: int) -> None:
    if stat.S_ISREG(mode):
        return
    if stat.S_ISDIR(mode):
        raise ReadError(question, errno.EISDIR)
    raise ReadError(question, errno.EOPNOTSUPP, Reason.NOT_OFFERED)


def _read_to_end(descriptor: int, question: str, limit: int) -> bytes:
    # What was looked at may have been replaced before it was opened.
    _refuse_irregular(question, os.fstat(descriptor).st_mode)
    pieces: list[bytes] = []
    size = 0
    while piece := os.read(descriptor, CHUNK):
        pieces.append(piece)
        size += len(piece)
        if size > limit:
            raise ReadError(question, errno.EFBIG, Reason.TOO_LARGE)
    return b"".join(pieces)
