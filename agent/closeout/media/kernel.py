"""The kernel of a root: its release, the modules that stay, and those that are needed early."""

import lzma
import shutil
from collections.abc import Iterable, Iterator, Sequence
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


def settle_modules(root: Path, release: str) -> None:
    """Leaves modules out, unpacks the others, and lists them anew.

    A module in the root would be compressed twice, and take its time when it is loaded; its
    signature is in what is packed and stays.
    """
    folder = root / FOLDER / release
    for left_out in MODULES_LEFT_OUT:
        shutil.rmtree(folder / left_out, ignore_errors=True)
    for packed in sorted(folder.rglob("*.ko.xz")):
        packed.with_suffix("").write_bytes(lzma.decompress(packed.read_bytes()))
        packed.unlink()
    _drop_orphans(folder)
    run_inside(root, "/usr/sbin/depmod", release)


def _drop_orphans(folder: Path) -> None:
    """Takes out modules that need one which was left out: they could not be loaded."""
    needs = _needs(folder)
    there = {path.stem.replace("-", "_"): path for path in folder.rglob("*.ko")}
    missing = {name for name in needs if name not in there}
    while orphans := [name for name in there if needs.get(name, set()) & missing]:
        for name in orphans:
            there.pop(name).unlink()
            missing.add(name)


def _needs(folder: Path) -> dict[str, set[str]]:
    """What each module needs, by the list that came with the kernel (modules.dep)."""
    needs: dict[str, set[str]] = {}
    listed = folder / "modules.dep"
    if not listed.is_file():
        return needs
    for line in listed.read_text("ascii").splitlines():
        module, _, others = line.partition(":")
        needs[_name(module)] = {_name(other) for other in others.split()}
    return needs


def early_modules(root: Path, release: str, wanted: Iterable[str]) -> tuple[str, ...]:
    """The files of the wanted modules, each behind those that it needs.

    What is built into the kernel is no module and not among them.
    """
    folder = root / FOLDER / release
    paths: dict[str, tuple[str, Sequence[str]]] = {}
    for line in (folder / "modules.dep").read_text("ascii").splitlines():
        module, _, others = line.partition(":")
        paths[_name(module)] = (module, others.split())
    ordered: list[str] = []
    for name in wanted:
        ordered += [each for each in _in_order(name, paths) if each not in ordered]
    return tuple(f"{FOLDER}/{release}/{path}" for path in ordered)


def _in_order(name: str, paths: dict[str, tuple[str, Sequence[str]]]) -> Iterator[str]:
    if name in paths:
        module, others = paths[name]
        yield from reversed(others)  # modules.dep(5): the last is to be loaded first
        yield module


def _name(path: str) -> str:
    return Path(path).name.split(".")[0].replace("-", "_")
