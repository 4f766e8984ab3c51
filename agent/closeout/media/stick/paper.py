"""What makes documents, off the stick into memory: the wheels that the root's list names.

The list lies in the root, which is in memory since the start; so what is on the stick by then is
taken only where it is what was built.
"""

from __future__ import annotations

import hashlib
import json
import shutil
from collections.abc import Mapping
from io import BytesIO
from pathlib import Path
from typing import Any, Final

from closeout.kernel.tree import KernelTree
from closeout.media.shared import CONTENTS, PAPER
from closeout.media.stick.door import Door
from closeout.media.stick.find import Volume
from closeout.media.stick.program import BUILT_IN
from closeout.model.frozen import frozen
from closeout.model.reading import Value
from closeout.readers.memory_kernel import read_available

LIST: Final = BUILT_IN / CONTENTS
PLACE: Final = Path("/run/closeout") / PAPER
LARGEST_LIST: Final = 4 << 20
MEMORY: Final = 400 << 20
"""Bytes that must be free: 34 MB of wheels and the 85 MB that they unpack to while both are there,
and 220 MB in which a document is set (measured with typst 0.15.2)."""
MIB: Final = 1 << 20


@frozen
class NoPaper:
    """Why no documents are made, as the rest of a sentence; empty where none are to be."""

    why: str


def take_paper(
    volume: Volume, door: Door, tree: KernelTree, contents: Path = LIST, place: Path = PLACE
) -> Path | NoPaper:
    """The folder that Python imports from, filled the first time that it is wanted."""
    if place.is_dir():
        return place
    wanted = _listed(contents)
    if not wanted:
        return NoPaper(why="")
    available = read_available(tree)
    if isinstance(available, Value) and available.value < MEMORY:
        free = available.value // MIB
        return NoPaper(why=f"{free} MiB of memory are free, and it takes {MEMORY // MIB}")
    try:
        with door.opened(volume, writable=False) as root:
            wheels = [(root / PAPER / name).read_bytes() for name in wanted]
    except OSError as failure:
        return NoPaper(why=f"{PAPER}/ on the stick cannot be read: {failure.strerror}")
    for name, wheel in zip(wanted, wheels, strict=True):
        if hashlib.sha256(wheel).hexdigest() != wanted[name]:
            return NoPaper(why=f"{PAPER}/{name} on the stick is not what was built")
    return _unpacked(wheels, place)


def _listed(contents: Path) -> Mapping[str, str]:
    """The digests of the wheels by their names; none in a root that was built without."""
    try:
        with contents.open("rb") as opened:
            told: Any = json.loads(opened.read(LARGEST_LIST))
        packages = [package for package in told["packages"] if package["part"] == PAPER]
        return {str(package["file"]): str(package["sha256"]) for package in packages}
    except (OSError, ValueError, TypeError, KeyError):
        return {}


def _unpacked(wheels: list[bytes], place: Path) -> Path | NoPaper:
    """Whole or not at all: a folder that is there is complete."""
    from zipfile import BadZipFile, ZipFile  # noqa: PLC0415 - for this alone

    arriving = place.with_name(f"{place.name}.arriving")
    shutil.rmtree(arriving, ignore_errors=True)
    try:
        for wheel in wheels:
            with ZipFile(BytesIO(wheel)) as archive:
                archive.extractall(arriving)
        arriving.rename(place)
    except (OSError, BadZipFile) as failure:
        shutil.rmtree(arriving, ignore_errors=True)
        return NoPaper(why=f"it cannot be unpacked in memory: {failure}")
    return place
