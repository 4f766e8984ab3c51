"""GRUB for a start without UEFI: what its setup program would write, written into an image.

Layouts are those of GRUB 2.12: include/grub/i386/pc/boot.h (offsets in boot.img) and
include/grub/offsets.h (the list of blocks at the end of the first sector of core.img);
util/setup.c shows how both are filled in.
"""

from __future__ import annotations

import struct
from pathlib import Path
from typing import Final

from closeout.media.partitions import RECORDS_AT, SECTOR
from closeout.media.programs import run_inside
from closeout.media.trees import WORK
from closeout.media.trouble import MediaError

MODULES_FOLDER: Final = "usr/lib/grub/i386-pc"
MODULES: Final = (
    *("biosdisk", "part_gpt", "fat", "search", "search_fs_uuid", "normal", "configfile"),
    *("linux", "echo", "test", "sleep", "serial", "terminal", "minicmd", "halt", "reboot"),
)
KERNEL_SECTOR: Final = 0x5C
"""GRUB_BOOT_MACHINE_KERNEL_SECTOR: eight bytes."""
DRIVE_CHECK: Final = 0x66
"""GRUB_BOOT_MACHINE_DRIVE_CHECK: two bytes, no operation where the medium is no floppy disk."""
NO_OPERATION: Final = b"\x90\x90"
BLOCK_LIST: Final = struct.Struct("<QHH")
"""grub_pc_bios_boot_blocklist: first sector, how many, segment in memory."""
BLOCK_LIST_AT: Final = SECTOR - BLOCK_LIST.size
SEGMENT: Final = 0x820
"""GRUB_BOOT_MACHINE_KERNEL_SEG and the 512 bytes of the first sector."""
CONFIGURATION: Final = """\
search.fs_uuid {volume} root
set prefix=($root)/boot/grub
configfile ($root)/boot/grub/grub.cfg
"""


def bios_loader(tools: Path, volume: str, first: int, sectors: int) -> tuple[bytes, bytes]:
    """The program of sector 0, and what lies in the partition that begins at sector `first`.

    It goes on with the configuration in the file system whose number is `volume`.
    """
    work = tools / WORK
    (work / "bios.cfg").write_text(CONFIGURATION.format(volume=volume), "ascii")
    where = ("-d", f"/{MODULES_FOLDER}", "-c", f"/{WORK}/bios.cfg", "-p", "/boot/grub")
    form = ("-O", "i386-pc", "-o", f"/{WORK}/core.img")
    run_inside(tools, "/usr/bin/grub-mkimage", *form, *where, *MODULES)
    start = (tools / MODULES_FOLDER / "boot.img").read_bytes()
    core = (work / "core.img").read_bytes()
    if len(core) > sectors * SECTOR:
        raise MediaError(f"the loader for BIOS has {len(core)} bytes, more than its partition")
    return _start_program(start, first), _placed(core, first)


def _start_program(start: bytes, first: int) -> bytes:
    program = bytearray(start[:RECORDS_AT])
    struct.pack_into("<Q", program, KERNEL_SECTOR, first)
    program[DRIVE_CHECK : DRIVE_CHECK + 2] = NO_OPERATION
    return bytes(program)


def _placed(core: bytes, first: int) -> bytes:
    whole = bytearray(core.ljust(-(-len(core) // SECTOR) * SECTOR, b"\0"))
    others = len(whole) // SECTOR - 1
    BLOCK_LIST.pack_into(whole, BLOCK_LIST_AT, first + 1, others, SEGMENT)
    return bytes(whole)
