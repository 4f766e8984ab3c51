"""Archives as the kernel unpacks them into its first file system (newc, by cpio)."""

import os
import shutil
import subprocess
from collections.abc import Iterable
from pathlib import Path
from typing import Final

MIB: Final = 1 << 20


def pack(root: Path, names: Iterable[str], archive: Path, *more: str) -> None:
    """Packs what is under the root, in the order given; folders come before what is in them."""
    with archive.open("wb") as packed:
        subprocess.run(
            ["cpio", "--create", "--format=newc", "--null", "--quiet", *more],
            cwd=root,
            input=b"".join(os.fsencode(name) + b"\0" for name in names),
            stdout=packed,
            check=True,
        )


def pack_all(root: Path, archive: Path) -> None:
    """Packs everything under the root, as root's."""
    names = sorted(os.path.relpath(path, root) for path in root.rglob("*"))
    pack(root, names, archive, "--owner=0:0")


def join(archives: Iterable[Path], joined: Path) -> None:
    """One archive behind the other, as the kernel reads them (cpio pads each)."""
    with joined.open("wb") as whole:
        for archive in archives:
            with archive.open("rb") as more:
                shutil.copyfileobj(more, whole, MIB)
