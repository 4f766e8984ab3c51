"""What a stick carries in place of what is built in: written with its list, taken only by it."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from closeout.decode.failure import DecodeError
from closeout.decode.update_list import LINE, LONGEST, decode_update_list, make_update_list
from closeout.media.shared import AGENT
from closeout.model.frozen import frozen

LIST: Final = "SHA256SUMS"
LARGEST: Final = 64 << 20
"""Bytes of all files of one update together."""


@frozen
class Refused:
    """Why an update is not taken, in one line that says what is used and what to do."""

    why: str


class UpdateError(Exception):
    """What cannot be put on a stick, and why."""


def take_update(stick: Path, what: str) -> Mapping[str, bytes] | Refused:
    """The files of an update by their names, read and held against its list.

    Empty where there is no update. Files beside the list, as desktops leave them, are not taken.
    """
    folder = stick / what
    try:
        if not folder.is_dir() or not any(folder.iterdir()):
            return {}
        listed = decode_update_list(_read(folder / LIST, LONGEST))
        files = _listed(folder, listed.digests)
    except DecodeError as error:
        return _refused(what, error.message)
    except FileNotFoundError as failure:
        return _refused(what, f"{Path(str(failure.filename)).name} is missing")
    except OSError as failure:
        return _refused(what, f"cannot be read: {failure.strerror}")
    return files


def _refused(what: str, why: str) -> Refused:
    built_in = "agent is" if what == AGENT else f"{what} are"
    return Refused(
        why=f"{what}/ on the stick: {why}; the built-in {built_in} used."
        " Write it again with closeout media update."
    )


def _listed(folder: Path, digests: Mapping[str, str]) -> Mapping[str, bytes]:
    left = LARGEST
    files: dict[str, bytes] = {}
    for name, digest in digests.items():
        content = _read(folder / name, left)
        left -= len(content)
        if hashlib.sha256(content).hexdigest() != digest:
            raise DecodeError(LIST, 0, f"{name} is not as it was written")
        files[name] = content
    return files


def _read(file: Path, limit: int) -> bytes:
    with file.open("rb") as opened:
        raw = opened.read(limit + 1)
    if len(raw) > limit:
        raise DecodeError(str(file), 0, f"{file.name} is larger than an update can be")
    return raw


def gather(folder: Path) -> Mapping[str, bytes]:
    """Every file below a folder by its name, without what Python keeps of them."""
    files = {
        file.relative_to(folder).as_posix(): file.read_bytes()
        for file in sorted(folder.rglob("*"))
        if file.is_file() and "__pycache__" not in file.parts
    }
    for name in files:
        if not LINE.fullmatch(f"{'0' * 64}  {name}"):
            raise UpdateError(f"{folder / name}: no name for a stick; call it something plainer")
    return files


def gather_agent(source: Path) -> Mapping[str, bytes]:
    """The agent's package, out of a wheel or out of the folder that it lies in."""
    if source.is_file():
        return _of_wheel(source)
    for folder in (source, source / AGENT):
        if (folder / "closeout" / "__init__.py").is_file():
            return {f"closeout/{name}": raw for name, raw in gather(folder / "closeout").items()}
    raise UpdateError(f"{source}: no agent in it; give a wheel, or the folder that holds closeout/")


def _of_wheel(wheel: Path) -> Mapping[str, bytes]:
    from zipfile import BadZipFile, ZipFile  # noqa: PLC0415 - for this alone

    try:
        with ZipFile(wheel) as archive:
            names = [name for name in archive.namelist() if name.startswith("closeout/")]
            files = {name: archive.read(name) for name in names if not name.endswith("/")}
    except (BadZipFile, NotImplementedError, RuntimeError, ValueError, EOFError) as error:
        raise UpdateError(f"{wheel}: no wheel: {error}") from error
    if "closeout/__init__.py" not in files:
        raise UpdateError(f"{wheel}: a wheel of something else; give that of closeout")
    return files


def with_list(files: Mapping[str, bytes]) -> Mapping[str, bytes]:
    """The files and their list, which comes last: a stick pulled before it has no update."""
    return {**files, LIST: make_update_list(files)}
