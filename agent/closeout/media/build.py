"""From packages to an image, the files for a start over the network, and the manifest of both."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Final

from closeout.media.agent_files import HOME, lay_agent
from closeout.media.boot_menu import network_menu
from closeout.media.initial import ROOT_FILE, initial_entries, root_entries, write_archive
from closeout.media.kernel import early_modules, kernel_of, release_of, settle_modules
from closeout.media.lock import BUFFER, Lock, digest_of
from closeout.media.manifest import FILE, Manifest, as_text, contents, described
from closeout.media.network import CONFIGURATION, NETWORK_GRUB, write_network_files
from closeout.media.network import SHIM as NETWORK_SHIM
from closeout.media.numbers import Numbers
from closeout.media.packages import files_of
from closeout.media.programs import run_inside
from closeout.media.recipe import FETCHING, MOUNTING
from closeout.media.shared import CONTENTS, PAPER
from closeout.media.stick_image import write_stick
from closeout.media.tree import compile_modules, keep_licences, prune, set_up, unpack
from closeout.media.trees import INITIAL, KERNEL, WORK, Trees
from closeout.media.volumes import BOOT, SHARED
from closeout.media.wheels import files_on_stick

Say = Callable[[str], None]
IMAGE: Final = "closeout-stick.img"
NETWORK: Final = "netboot"
COMPRESSION: Final = ("-comp", "zstd", "-Xcompression-level", "9", "-b", "256K")
"""Level 15 takes eight times as long for an image smaller by a sixteenth."""
ALWAYS_THE_SAME: Final = ("-noappend", "-all-root", "-no-xattrs", "-no-exports")
SILENT: Final = ("-quiet", "-no-progress")


def build(lock: Lock, cache: Path, out: Path, say: Say) -> Manifest:
    """Builds image, network files and manifest into the folder `out`."""
    out.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix=".building-", dir=out) as folder:
        trees = Trees(tools=Path(folder) / "tools")
        say(f"unpacking {len(lock.packages) - len(lock.parts[PAPER])} packages")
        unpack(files_of((*lock.parts["tools"], *lock.parts["boot"]), cache), trees.tools)
        unpack(files_of(lock.parts["system"], cache), trees.root)
        say("setting up the root")
        release = release_of(trees.root)
        when = _take_kernel(trees, release)
        manifest = _make_root(trees, lock, release, when)
        say("packing the root")
        _pack(trees, release, when)
        say("writing the image")
        numbers = Numbers(seed="".join(map(digest_of, trees.started)))
        manifest |= {"root": described({ROOT_FILE: trees.packed_root})[ROOT_FILE], "time": when}
        manifest |= write_stick(
            trees, numbers, out / IMAGE, manifest, files_on_stick(lock, cache), when
        )
        manifest["netboot"] = _write_network(trees, numbers, out / NETWORK)
        manifest["image"] = {"file": IMAGE, **described({IMAGE: out / IMAGE})[IMAGE]}
        (out / FILE).write_text(as_text(manifest), "utf-8")
    return manifest


def _take_kernel(trees: Trees, release: str) -> int:
    """Takes the signed kernel out; the time of its making dates everything that is made here."""
    kernel = kernel_of(trees.root, release)
    when = int(kernel.stat().st_mtime)
    shutil.move(kernel, trees.kernel)
    return when


def _make_root(trees: Trees, lock: Lock, release: str, when: int) -> Manifest:
    root = trees.root
    settle_modules(root, release)
    prune(root)
    keep_licences(trees.tools, [package.name for package in lock.parts["boot"]], root)
    lay_agent(root)
    manifest = contents(lock, root, release)
    (root / HOME / CONTENTS).write_text(as_text(manifest), "utf-8")
    set_up(root, when)
    library = (f"/{path.relative_to(root)}" for path in sorted((root / "usr/lib").glob("python3*")))
    compile_modules(root, (*library, f"/{HOME}/agent"), when)
    return manifest


def _pack(trees: Trees, release: str, when: int) -> None:
    """Packs the root into one file, and that into the initial file system."""
    inside = (f"/{WORK}/root", f"/{WORK}/{ROOT_FILE}")
    dated = ("-mkfs-time", str(when), "-all-time", str(when))
    options = (*COMPRESSION, *ALWAYS_THE_SAME, *dated, *SILENT)
    run_inside(trees.tools, "/usr/bin/mksquashfs", *inside, *options)
    write_archive(root_entries(trees.packed_root), trees.root_archive, when)
    modules = (early_modules(trees.root, release, wanted) for wanted in (MOUNTING, FETCHING))
    write_archive(initial_entries(trees.root, *modules), trees.initial, when)


def _write_network(trees: Trees, numbers: Numbers, folder: Path) -> Manifest:
    whole = trees.work / "initrd-with-root"
    with whole.open("wb") as joined:
        for part in (trees.initial, trees.root_archive):
            with part.open("rb") as stream:
                shutil.copyfileobj(stream, joined, BUFFER)
    files: dict[str, Path | bytes] = {
        NETWORK_SHIM: trees.shim / "shimx64.efi.signed",
        NETWORK_GRUB: trees.signed_grub / "grubnetx64.efi.signed",
        "mmx64.efi": trees.shim / "mmx64.efi.signed",
        CONFIGURATION: network_menu(numbers.volume(SHARED), numbers.volume(BOOT)).encode(),
        KERNEL: trees.kernel,
        INITIAL: whole,
    }
    return described(write_network_files(folder, files))
