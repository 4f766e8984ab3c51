"""FAT file systems made with mtools, which give the same bytes for the same files."""

from __future__ import annotations

import os
import shutil
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from closeout.media.programs import run_inside
from closeout.media.shared import FOLDERS, LABEL
from closeout.media.trees import WORK

Files = Mapping[str, Path | bytes]
MIB: Final = 1 << 20
SLACK: Final = 4 * MIB
"""Room in the volume of the loaders for tables and a longer configuration."""
SHARED: Final = "shared"
SHARED_SIZE: Final = 256 * MIB
BOOT: Final = "boot"
BOOT_LABEL: Final = "CLOSEOUTEFI"
SMALLEST: Final = 40 * MIB
"""A smaller one would be no FAT32 (65,525 clusters at least, by Microsoft's specification)."""
MOST_CLUSTERS_WANTED: Final = 66_000
FIRST_WORDS: Final = """\
This stick starts a repaired notebook into closeout, which checks it and writes a report.

  orders    work orders (.toml), one file each: put them here
  profiles  what models must have; put there by "closeout media update", else not taken
  agent     a newer agent than the one this stick came with; put there in the same way
  lead      whose signature over the profiles counts: lead.toml, and what was signed (.jws)
  station   the key that reports are sealed with, by "closeout station init": keep the stick safe
  reports   what was checked, one .zip each, and the .pdf for the ticket: take them off, nothing
            is ever overwritten
  paper     what the .pdf is made with; without it there is none, and all else works

Everything the stick starts from is in its second partition; leave that one as it is.
""".replace("\n", "\r\n")


def make_shared_volume(tools: Path, volume: str, paper: Files, when: int) -> Path:
    """The volume that desktops show."""
    file = _make_volume(tools, SHARED, LABEL, volume, SHARED_SIZE, when)
    _add_files(tools, SHARED, {"README.txt": FIRST_WORDS.encode(), **paper}, FOLDERS, when)
    return file


def make_boot_volume(tools: Path, volume: str, files: Files, when: int) -> Path:
    """The volume that UEFI starts from, as large as its files need."""
    size = sum(map(_size, files.values())) + SLACK
    whole = max(SMALLEST, -(-size // MIB) * MIB)
    file = _make_volume(tools, BOOT, BOOT_LABEL, volume, whole, when)
    _add_files(tools, BOOT, files, (), when)
    return file


def _make_volume(tools: Path, name: str, label: str, volume: str, size: int, when: int) -> Path:
    file = tools / WORK / name
    with file.open("wb") as stream:
        stream.truncate(size)
    form = ("-F", "32", "-s", str(_cluster_sectors(size)), "-S", "512", "--invariant")
    number = ("-i", volume.replace("-", "").lower(), "-n", label)
    run_inside(tools, "/usr/sbin/mkfs.vfat", *form, *number, f"/{WORK}/{name}", when=when)
    return file


def _add_files(tools: Path, name: str, files: Files, folders: tuple[str, ...], when: int) -> None:
    """Puts folders and files into a volume, in the order of their paths."""
    parents = {parent for path in files for parent in _parents(path)}
    for folder in sorted({*folders, *parents}):
        run_inside(tools, "/usr/bin/mmd", "-i", f"/{WORK}/{name}", f"::/{folder}", when=when)
    staged = tools / WORK / "staged"
    for path, content in sorted(files.items()):
        _stage(content, staged, when)
        into = ("-i", f"/{WORK}/{name}", f"/{WORK}/staged", f"::/{path}")
        run_inside(tools, "/usr/bin/mcopy", "-m", *into, when=when)
        staged.unlink()


def _stage(content: Path | bytes, staged: Path, when: int) -> None:
    if isinstance(content, bytes):
        staged.write_bytes(content)
    else:
        shutil.copyfile(content, staged)
    os.utime(staged, (when, when))


def _parents(path: str) -> list[str]:
    parts = path.split("/")[:-1]
    return ["/".join(parts[: length + 1]) for length in range(len(parts))]


def _size(content: Path | bytes) -> int:
    return len(content) if isinstance(content, bytes) else content.stat().st_size


def _cluster_sectors(size: int) -> int:
    """As large as leaves clusters enough: fewer of them are read faster."""
    fitting = (count for count in (8, 4, 2) if size // (512 * count) > MOST_CLUSTERS_WANTED)
    return next(fitting, 1)
