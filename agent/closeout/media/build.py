"""From packages to an image and the files for a start over the network."""

import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Final

from closeout.media.agent_files import HOME, lay_agent
from closeout.media.bios_loader import bios_loader
from closeout.media.boot_menu import boot_menu
from closeout.media.image import LOADER_SECTORS, Content, Numbers, write_image
from closeout.media.initial import ROOT_FILE, initial_entries, write_archive
from closeout.media.kernel import early_modules, release_of, settle_modules
from closeout.media.lock import Lock, digest_of
from closeout.media.packages import files_of
from closeout.media.partitions import FIRST_USABLE
from closeout.media.programs import run_inside
from closeout.media.tree import compile_modules, keep_licences, prune, set_up, unpack
from closeout.media.volumes import SHARED, make_boot_volume, make_shared_volume
from closeout.model.frozen import frozen

Say = Callable[[str], None]
IMAGE: Final = "closeout-stick.img"
NETWORK: Final = "netboot"
WORK: Final = "work"
SHIM: Final = "usr/lib/shim"
SIGNED_GRUB: Final = "usr/lib/grub/x86_64-efi-signed"
COMPRESSION: Final = ("-comp", "zstd", "-Xcompression-level", "19", "-b", "256K")
ALWAYS_THE_SAME: Final = ("-noappend", "-all-root", "-no-xattrs", "-no-exports", "-quiet")


@frozen
class Trees:
    """The unpacked packages of a build: its tools, and in their work folder the root of a unit."""

    tools: Path

    @property
    def work(self) -> Path:
        """Where the tools find and leave files, as `/work`."""
        return self.tools / WORK

    @property
    def root(self) -> Path:
        """The root of a unit."""
        return self.work / "root"


def build(lock: Lock, cache: Path, out: Path, say: Say) -> None:
    """Builds image and network files into the folder `out`."""
    out.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix=".building-", dir=out) as folder:
        trees = Trees(tools=Path(folder) / "tools")
        say(f"unpacking {len(lock.packages)} packages")
        unpack(files_of((*lock.parts["tools"], *lock.parts["boot"]), cache), trees.tools)
        unpack(files_of(lock.parts["system"], cache), trees.root)
        release = release_of(trees.root)
        kernel = trees.work / "vmlinuz"
        shutil.copyfile(trees.root / "boot" / f"vmlinuz-{release}", kernel)
        when = int((trees.root / "boot" / f"vmlinuz-{release}").stat().st_mtime)
        say("setting up the root")
        _make_root(trees, release, when)
        say("packing the root")
        _pack_root(trees, when)
        initial = trees.work / "initrd"
        entries = initial_entries(
            trees.root, early_modules(trees.root, release), trees.work / ROOT_FILE
        )
        write_archive(entries, initial, when)
        say("writing the image")
        _write_stick(trees, out / IMAGE, when)


def _make_root(trees: Trees, release: str, when: int) -> None:
    settle_modules(trees.root, release)
    prune(trees.root)
    keep_licences(trees.tools, trees.root)
    lay_agent(trees.root)
    set_up(trees.root, when)
    compile_modules(trees.root, ("/usr/lib/python3", *_standard_library(trees.root)), when)
    compile_modules(trees.root, (f"/{HOME}/agent",), when)


def _standard_library(root: Path) -> tuple[str, ...]:
    return tuple(f"/{path.relative_to(root)}" for path in sorted((root / "usr/lib").glob("python3.*")))


def _pack_root(trees: Trees, when: int) -> None:
    inside = (f"/{WORK}/root", f"/{WORK}/{ROOT_FILE}")
    dated = ("-mkfs-time", str(when), "-all-time", str(when))
    options = (*COMPRESSION, *ALWAYS_THE_SAME, *dated, "-no-progress")
    run_inside(trees.tools, "/usr/bin/mksquashfs", *inside, *options)


def _write_stick(trees: Trees, image: Path, when: int) -> None:
    numbers = Numbers(seed=digest_of(trees.work / "vmlinuz") + digest_of(trees.work / "initrd"))
    shared, boot = numbers.volume(SHARED), numbers.volume("boot")
    files: dict[str, Path | bytes] = {
        **loader_files(trees.tools),
        "EFI/debian/grub.cfg": boot_menu(shared).encode(),
        "boot/grub/grub.cfg": boot_menu(shared).encode(),
        "vmlinuz": trees.work / "vmlinuz",
        "initrd": trees.work / "initrd",
    }
    start_program, loader = bios_loader(trees.tools, boot, FIRST_USABLE, LOADER_SECTORS)
    content = Content(
        shared=make_shared_volume(trees.tools, shared, when),
        boot=make_boot_volume(trees.tools, boot, files, when),
        start_program=start_program,
        loader=loader,
    )
    write_image(image, numbers, content)


def loader_files(tools: Path) -> dict[str, Path | bytes]:
    """The signed loaders where UEFI and they themselves look for each other."""
    return {
        "EFI/BOOT/BOOTX64.EFI": tools / SHIM / "shimx64.efi.signed",
        "EFI/BOOT/grubx64.efi": tools / SIGNED_GRUB / "grubx64.efi.signed",
        "EFI/BOOT/mmx64.efi": tools / SHIM / "mmx64.efi.signed",
    }
