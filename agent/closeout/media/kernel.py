"""The kernel of a root: its release, the modules that stay, and those that are needed early."""

from __future__ import annotations

import lzma
import shutil
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Final

from closeout.media.programs import run_inside
from closeout.media.recipe import MODULES_LEFT_OUT
from closeout.media.trouble import MediaError

FOLDER: Final = "usr/lib/modules"


def release_of(root: Path) -> str:
    """The release of the only kernel in the root."""
    found = sorted(path.name for path in (root / FOLDER).glob("*") if (path / "kernel").is_dir())
    if len(found) != 1:
        raise MediaError(f"the packages hold {len(found)} kernels; name one with --kernel")
    return found[0]


def kernel_of(root: Path, release: str) -> Path:
    """The kernel's own file: since 7.x Debian has it with the modules, before in `boot`."""
    places = (root / FOLDER / release / "vmlinuz", root / "boot" / f"vmlinuz-{release}")
    for place in places:
        if place.is_file():
            return place
    raise MediaError(f"the packages hold no vmlinuz for the kernel {release}")


def settle_modules(root: Path, release: str) -> None:
    """Leaves modules out with those that need them, unpacks the others, and lists them anew.

    A module in the root would be compressed twice, and take its time when it is loaded; its
    signature is in what is packed and stays.
    """
    folder = root / FOLDER / release
    run_inside(root, "/usr/sbin/depmod", release)
    needs = _needs(folder)
    for left_out in MODULES_LEFT_OUT:
        shutil.rmtree(folder / left_out, ignore_errors=True)
    _drop_orphans(folder, needs)
    for packed in sorted(folder.rglob("*.ko.xz")):
        packed.with_suffix("").write_bytes(lzma.decompress(packed.read_bytes()))
        packed.unlink()
    run_inside(root, "/usr/sbin/depmod", release)


def _drop_orphans(folder: Path, needs: Mapping[str, frozenset[str]]) -> None:
    """Takes out modules that need one which was left out: they could not be loaded.

    What a module needs is listed to the end (modules.dep(5)), so one look at each is enough.
    """
    there = {_name(path.name): path for path in folder.rglob("*.ko*")}
    left_out = needs.keys() - there.keys()
    for name, path in there.items():
        if needs.get(name, frozenset()) & left_out:
            path.unlink()


def _needs(folder: Path) -> dict[str, frozenset[str]]:
    """The names of all that each module needs."""
    return {_name(module): frozenset(map(_name, others)) for module, others in _listed(folder)}


def _listed(folder: Path) -> Iterator[tuple[str, Sequence[str]]]:
    for line in (folder / "modules.dep").read_text("ascii").splitlines():
        module, _, others = line.partition(":")
        yield module, others.split()


def early_modules(root: Path, release: str, wanted: Iterable[str]) -> tuple[str, ...]:
    """The files of the wanted modules, each behind those that it needs.

    What is built into the kernel is no module and not among them.
    """
    folder = root / FOLDER / release
    paths = {_name(module): (module, others) for module, others in _listed(folder)}
    ordered: list[str] = []
    for name in wanted:
        ordered += [each for each in _in_order(name, paths) if each not in ordered]
    return tuple(f"{FOLDER}/{release}/{path}" for path in ordered)


def _in_order(name: str, paths: Mapping[str, tuple[str, Sequence[str]]]) -> Iterator[str]:
    if name in paths:
        module, others = paths[name]
        yield from reversed(others)  # modules.dep(5): the last is to be loaded first
        yield module


def _name(path: str) -> str:
    return Path(path).name.split(".")[0].replace("-", "_")
