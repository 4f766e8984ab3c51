"""Files that an operator names: what they are, and read with a limit."""

from __future__ import annotations

import stat
from pathlib import Path

from closeout.cli.trouble import InputTroubleError


def read_file(file: Path, limit: int) -> bytes:
    """The bytes of a file; raises InputTroubleError where there are none or too many."""
    try:
        with file.open("rb") as stream:
            raw = stream.read(limit + 1)
    except OSError as error:
        raise InputTroubleError(
            f"{file}: cannot be read: {error.strerror}; check path and rights"
        ) from error
    except ValueError as error:
        raise InputTroubleError(f"{file!s}: no usable file name") from error
    if len(raw) > limit:
        raise InputTroubleError(f"{file}: larger than {limit} bytes; is it the right file?")
    return raw


def is_folder(path: Path) -> bool:
    """Whether it is one; no for what cannot be looked at, which is said when it is opened."""
    return stat.S_ISDIR(_mode(path))


def is_file(path: Path) -> bool:
    """Whether it is a plain file; no for what cannot be looked at."""
    return stat.S_ISREG(_mode(path))


def never_ends(path: Path) -> bool:
    """Whether it is there and neither file nor folder: a pipe would be waited at for ever."""
    mode = _mode(path)
    return bool(mode) and not stat.S_ISREG(mode) and not stat.S_ISDIR(mode)


def _mode(path: Path) -> int:
    try:
        return path.stat().st_mode
    except (OSError, ValueError):
        return 0
