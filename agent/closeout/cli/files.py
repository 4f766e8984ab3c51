"""Files that an operator names, read with a limit."""

from __future__ import annotations

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
