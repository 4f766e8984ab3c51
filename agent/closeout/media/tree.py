"""The root that a unit runs: packages unpacked, pruned and set up, without an installation.

Scripts of packages are not run: they set up an installed system, and what they write depends on the
day and the host. The few things of theirs that a run from memory needs are done here.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterable
from pathlib import Path
from typing import Final

from closeout.media.programs import run, run_inside
from closeout.media.recipe import (
    APPLETS_LEFT_OUT,
    DOCUMENTS,
    FONTS,
    FONTS_KEPT,
    LICENCE,
    PRUNED,
)

EMPTY_FOLDERS: Final = (
    "dev",
    "etc",
    "mnt",
    "proc",
    "root",
    "run",
    "sys",
    "tmp",
    "var/lib",
    "var/tmp",
)
GROUPS: Final = "input:x:101:\nrender:x:102:\nsgx:x:103:\nclock:x:104:\n"
"""Groups that the rules of udev name and the package of standard groups has not."""
MADE_BY_RUNNING: Final = ("var/cache/ldconfig", "etc/.pwd.lock")


def unpack(files: Iterable[Path], tree: Path) -> None:
    """Unpacks packages into the tree: first the one that lays out the links of a root."""
    tree.mkdir(parents=True, exist_ok=True)
    for file in sorted(files, key=lambda file: (not file.name.startswith("base-files_"), file)):
        run(("dpkg-deb", "--extract", file, tree))


def prune(tree: Path) -> None:
    """Takes out what no check needs; of a package's documents its licence stays."""
    for pattern in PRUNED:
        for path in sorted(tree.glob(pattern)):
            _remove(path)
    for document in sorted((tree / DOCUMENTS).glob("*/*")):
        if document.name != LICENCE:
            _remove(document)
    for font in sorted((tree / FONTS).iterdir()):
        if not font.name.startswith(FONTS_KEPT):
            font.unlink()


def keep_licences(tree: Path, packages: Iterable[str], root: Path) -> None:
    """Copies the licences of the loaders, which do not lie in the root, to those of what does."""
    for package in packages:
        licence = root / DOCUMENTS / package / LICENCE
        licence.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(tree / DOCUMENTS / package / LICENCE, licence)


def set_up(root: Path, when: int) -> None:
    """What the packages' own scripts would have done for a system like this one."""
    for folder in EMPTY_FOLDERS:
        (root / folder).mkdir(parents=True, exist_ok=True)
    accounts = root / "usr/share/base-passwd"
    shutil.copyfile(accounts / "passwd.master", root / "etc/passwd")
    groups = (accounts / "group.master").read_text("utf-8") + GROUPS
    (root / "etc/group").write_text(groups, "utf-8")
    (root / "etc/hostname").write_text("closeout\n", "utf-8")
    _link_applets(root)
    run_inside(root, "/usr/sbin/ldconfig", when=when)
    run_inside(root, "/usr/bin/systemd-hwdb", "--usr", "update", when=when)
    shutil.rmtree(root / "usr/lib/udev/hwdb.d")
    for path in MADE_BY_RUNNING:
        _remove(root / path)


def compile_modules(root: Path, folders: Iterable[str], when: int) -> None:
    """Compiles Python's modules, valid whatever the clock of a unit says (PEP 552)."""
    options = ("-m", "compileall", "-q", "-j", "1", "--invalidation-mode", "unchecked-hash")
    run_inside(root, "/usr/bin/python3", *options, *folders, when=when)


def _link_applets(root: Path) -> None:
    """A name for each part of busybox that no package brings."""
    listed = run_inside(root, "/usr/bin/busybox", "--list").decode().split()
    for name in sorted(set(listed) - APPLETS_LEFT_OUT):
        if not any(_exists(root / folder / name) for folder in ("usr/bin", "usr/sbin")):
            (root / "usr/bin" / name).symlink_to("busybox")


def _exists(path: Path) -> bool:
    return path.is_symlink() or path.exists()


def _remove(path: Path) -> None:
    if path.is_dir() and not path.is_symlink():
        shutil.rmtree(path)
    else:
        path.unlink(missing_ok=True)
