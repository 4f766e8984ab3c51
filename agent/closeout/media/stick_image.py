"""The stick: what lies in its volumes and before them, and how the manifest names it."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Final

from closeout.media.bios_loader import bios_loader
from closeout.media.boot_menu import stick_menu
from closeout.media.image import LOADER_SECTORS, Content, write_image
from closeout.media.lock import digest_of
from closeout.media.manifest import (
    FILE,
    Manifest,
    as_text,
    described_file,
    described_partition,
)
from closeout.media.numbers import Numbers
from closeout.media.partitions import FIRST_USABLE
from closeout.media.trees import INITIAL, KERNEL, ROOT, Trees
from closeout.media.volumes import BOOT, SHARED, Files, make_boot_volume, make_shared_volume

UEFI_MENU: Final = "EFI/debian/grub.cfg"
"""Where Debian's signed loader looks on the volume that it was started from."""
BIOS_MENU: Final = "boot/grub/grub.cfg"


def write_stick(
    trees: Trees, numbers: Numbers, image: Path, manifest: Manifest, paper: Files, when: int
) -> Manifest:
    """Writes the image, and tells of its files and partitions.

    The stick carries the manifest too, as far as it goes without the image's own digest.
    """
    shared, boot = numbers.volume(SHARED), numbers.volume(BOOT)
    start_program, loader = bios_loader(trees.tools, boot, FIRST_USABLE, LOADER_SECTORS)
    files = _start_files(trees, stick_menu(shared, boot).encode())
    told: Manifest = {
        "boot": {path: _described(content) for path, content in sorted(files.items())},
        "loader": {
            "start": described_file(start_program, _digest(start_program)),
            "second": described_file(loader, _digest(loader)),
        },
        "paper": {path: _described(content) for path, content in sorted(paper.items())},
        "volumes": {"shared": shared, "boot": boot},
    }
    files[FILE] = as_text({**manifest, **told}).encode()
    content = Content(
        shared=make_shared_volume(trees.tools, shared, paper, when),
        boot=make_boot_volume(trees.tools, boot, files, when),
        start_program=start_program,
        loader=loader,
    )
    partitions = write_image(image, numbers, content)
    return {**told, "partitions": [described_partition(each) for each in partitions]}


def _start_files(trees: Trees, menu: bytes) -> dict[str, Path | bytes]:
    """The files where UEFI and the loaders look for each other."""
    return {
        "EFI/BOOT/BOOTX64.EFI": trees.shim / "shimx64.efi.signed",
        "EFI/BOOT/grubx64.efi": trees.signed_grub / "grubx64.efi.signed",
        "EFI/BOOT/mmx64.efi": trees.shim / "mmx64.efi.signed",
        UEFI_MENU: menu,
        BIOS_MENU: menu,
        KERNEL: trees.kernel,
        INITIAL: trees.initial,
        ROOT: trees.root_archive,
    }


def _described(content: Path | bytes) -> Manifest:
    digest = _digest(content) if isinstance(content, bytes) else digest_of(content)
    return described_file(content, digest)


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()
