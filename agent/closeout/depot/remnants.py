"""The hidden folders of an export on its way, and what a killed one leaves of them.

Serials lie in them, and nobody would look for them there. Each is locked (flock, which ends with
its process) as long as somebody writes it, so that what is not is known to be left over.
"""

from __future__ import annotations

import fcntl
import os
import re
import shutil
from collections.abc import Generator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

PART: Final = "part"
OLD: Final = "old"


def name_hidden(folder: Path) -> tuple[Path, Path]:
    """Where the new one is written, and where the one before it goes for a moment."""
    chance = os.urandom(4).hex()
    part, old = (folder.with_name(f".{folder.name}.{chance}.{end}") for end in (PART, OLD))
    return part, old


@contextmanager
def held(folder: Path) -> Generator[None]:
    """The folder is somebody's, also under another name. Raises OSError where it is another's."""
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        yield
    finally:
        os.close(handle)


def clear_remnants(folder: Path, mark: str) -> None:
    """Removes what killed ones left; of an export that had gone to make room, puts it back."""
    hidden = re.compile(rf"\.{re.escape(folder.name)}\.[0-9a-f]{{8}}\.({PART}|{OLD})")
    for path in _names_beside(folder):
        found = hidden.fullmatch(path.name)
        with suppress(OSError):
            if found and path.is_dir():
                with held(path):
                    _clear(path, folder, is_whole=found[1] == OLD and (path / mark).is_file())


def _clear(path: Path, folder: Path, *, is_whole: bool) -> None:
    if is_whole and not os.path.lexists(folder):
        path.rename(folder)
    else:
        shutil.rmtree(path)


def _names_beside(folder: Path) -> list[Path]:
    try:
        return sorted(folder.parent.iterdir())
    except OSError:
        return []
