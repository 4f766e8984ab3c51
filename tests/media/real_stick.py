"""The stick of today's packages: built once for a checkout, and kept beside the notebooks."""

import hashlib
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from closeout.expect.shipped import PACKAGE, shipped_folder
from closeout.media.manifest import FILE, Manifest, read_manifest
from notebook.image import cache_folder
from notebook.lock import locked

NAME: Final = "stick"
SOURCES: Final = (PACKAGE, shipped_folder("profiles"), shipped_folder("reports"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Stick:
    """The folder of a build."""

    folder: Path

    @property
    def image(self) -> Path:
        """The image for USB."""
        return self.folder / "closeout-stick.img"

    @property
    def network(self) -> Path:
        """The files for a start over the network."""
        return self.folder / "netboot"

    @property
    def manifest(self) -> Manifest:
        """What the build says of itself."""
        return read_manifest((self.folder / FILE).read_bytes(), FILE)

    @property
    def boot_offset(self) -> int:
        """Where the partition begins that a unit starts from, in bytes."""
        return int(self.manifest["partitions"][1]["first"]) * 512


def packages_folder() -> Path:
    """Where the packages are kept."""
    return cache_folder() / f"{NAME}-packages"


def built_stick() -> Stick:
    """The stick without firmware of this checkout; built anew when its files have changed."""
    folder = cache_folder() / NAME
    wanted = _digest()
    cache_folder().mkdir(parents=True, exist_ok=True)
    with locked(folder.with_suffix(".lock")):
        mark = folder / "built-from"
        if not mark.is_file() or mark.read_text("ascii") != wanted:
            shutil.rmtree(folder, ignore_errors=True)
            build(folder)
            mark.write_text(wanted, "ascii")
    return Stick(folder=folder)


def build(folder: Path, *more: str) -> None:
    """Builds as a user would, without firmware."""
    told = ("--no-firmware", "--cache", packages_folder(), "-o", folder, *more)
    subprocess.run((sys.executable, "-m", "closeout", "media", "build", *told), check=True)


def _digest() -> str:
    digest = hashlib.sha256()
    for source in SOURCES:
        for path in sorted(source.rglob("*")):
            if path.is_file() and "__pycache__" not in path.parts:
                digest.update(str(path.relative_to(source)).encode() + b"\0" + path.read_bytes())
    return digest.hexdigest()
