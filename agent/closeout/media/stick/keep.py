"""A report file put on the stick: written, flushed, read back from it, and then called kept."""

from __future__ import annotations

import errno
import os
from contextlib import suppress
from pathlib import Path
from typing import Final

from closeout.decode.failure import DecodeError
from closeout.media.report_file import SUFFIX
from closeout.media.shared import REPORTS
from closeout.media.stick.door import Door
from closeout.media.stick.find import Volume
from closeout.model.frozen import frozen

MOST_NAMES: Final = 99
DOCUMENT_SUFFIX: Final = ".pdf"
ANOTHER: Final = "use another stick"
DAMAGED: Final = f"its file system is damaged: {ANOTHER}, and have this one checked at a desk"
MEANINGS: Final = {
    errno.ENOSPC: "it is full: move reports off it at a desk, or use another stick",
    errno.EROFS: "it takes no writing: push its switch, or use another stick",
    errno.EACCES: "it takes no writing: push its switch, or use another stick",
    errno.EIO: f"it does not take what is written: put it in again, or {ANOTHER}",
    errno.ENODEV: "it was pulled too early: put it in again",
    errno.ENXIO: "it was pulled too early: put it in again",
    errno.ENOENT: "it was pulled too early: put it in again",
    errno.EINVAL: DAMAGED,
    errno.EUCLEAN: DAMAGED,
    errno.ENOTDIR: f"what is called {REPORTS} on it is no folder: {ANOTHER}",
}


@frozen
class NotKept:
    """Why the report is not on the stick, and what to do, as the rest of a sentence."""

    why: str


def keep_report(
    raw: bytes, stem: str, volume: Volume, door: Door, suffix: str = SUFFIX
) -> str | NotKept:
    """The name of the file on the stick, once it was read back and is the same.

    Nothing on the stick is overwritten; a report that is there already is left as it is.
    """
    try:
        if damage := door.damage(volume):
            return NotKept(why=f"{damage}: {ANOTHER}, and have this one checked at a desk")
        with door.opened(volume, writable=True) as root:
            name = _written(root / REPORTS, stem, suffix, raw)
        with door.opened(volume, writable=False) as root:
            came_back = (root / REPORTS / name).read_bytes()
    except OSError as failure:
        return NotKept(why=_meaning(failure, volume, door))
    except DecodeError:
        return NotKept(why=DAMAGED)
    if came_back != raw:
        return NotKept(why=f"{name} reads back different from what was written: {ANOTHER}")
    return name


def _meaning(failure: OSError, volume: Volume, door: Door) -> str:
    """What went wrong, in words; a stick that is gone gives all sorts of errors."""
    if door.find(volume.volume_id) != volume:
        return MEANINGS[errno.ENODEV]
    number = failure.errno or 0
    return MEANINGS.get(number) or f"{os.strerror(number)}: {ANOTHER}"


def _written(folder: Path, stem: str, suffix: str, raw: bytes) -> str:
    """The name of the new file; or of one that is there and holds the same. Raises OSError."""
    if not folder.exists():
        folder.mkdir()
        _flush_folder(folder.parent)
    for number in range(1, MOST_NAMES + 1):
        name = f"{stem}{suffix}" if number == 1 else f"{stem}-{number}{suffix}"
        try:
            handle = os.open(folder / name, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o644)
        except FileExistsError:
            if _holds(folder / name, raw):
                return name
            continue
        _fill(handle, folder / name, raw)
        _flush_folder(folder)
        return name
    raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(folder / stem))


def _holds(file: Path, raw: bytes) -> bool:
    """Whether the file is the same; one that cannot be read is another."""
    try:
        return file.read_bytes() == raw
    except OSError:
        return False


def _fill(handle: int, file: Path, raw: bytes) -> None:
    """Writes and flushes; what could not be written whole is taken away again, if that goes."""
    try:
        with open(handle, "wb", buffering=0) as stream:
            left = memoryview(raw)
            while left:
                left = left[stream.write(left) :]
            os.fsync(stream.fileno())
    except OSError:
        with suppress(OSError):
            file.unlink()
            _flush_folder(file.parent)
        raise


def _flush_folder(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
