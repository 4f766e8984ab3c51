"""Whether anything was written to a unit's drives: what the emulator's drives were told, judged.

Every command that reaches an emulated NVMe drive, SATA drive or memory card is traced by the
emulator itself, below the guest's kernel. What is not in the list of commands that only read, or
that bring a drive up, is a finding. The same over the guest: which block devices were opened for
writing, as its kernel saw it (a probe on `bdev_open`).
"""

import errno
import hashlib
import os
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

PIECE: Final = 1 << 20
EVENTS: Final = (
    "pci_nvme_admin_cmd",
    "pci_nvme_io_cmd",
    "pci_nvme_setfeat",
    "handle_cmd_fis_dump",
    "process_ncq_command",
    "ide_exec_cmd",
    "sdcard_normal_command",
    "sdcard_app_command",
)
PROBE: Final = "kprobe_event=p:opened,bdev_open,device=+52(%di):u32,mode=%si:x32"
"""The device number stands 52 bytes into `struct block_device`, the mode is the second argument
(Linux 6.12, include/linux/blk_types.h and block/bdev.c; the test proves it by an open of its own).
"""
OPENED: Final = re.compile(r"opened: .*device=(\d+) mode=0x([0-9a-f]+)")
WRITES: Final = 2
"""BLK_OPEN_WRITE of a blk_mode_t (include/linux/blkdev.h)."""

NVME_ADMIN: Final[Mapping[int, str]] = {
    0x00: "Delete I/O Submission Queue",
    0x01: "Create I/O Submission Queue",
    0x02: "Get Log Page",
    0x04: "Delete I/O Completion Queue",
    0x05: "Create I/O Completion Queue",
    0x06: "Identify",
    0x08: "Abort",
    0x09: "Set Features",
    0x0A: "Get Features",
    0x0C: "Asynchronous Event Request",
    0x18: "Keep Alive",
    0x7C: "Doorbell Buffer Config",
}
"""NVM Express Base Specification 2.0c, figure 88 (opcodes of admin commands)."""
NVME_FEATURES: Final[Mapping[int, str]] = {
    0x02: "Power Management",
    0x07: "Number of Queues",
    0x0B: "Asynchronous Event Configuration",
    0x0C: "Autonomous Power State Transition",
    0x0D: "Host Memory Buffer",
    0x0E: "Timestamp",
    0x16: "Host Behavior Support",
}
"""The same, figure 317: what Linux's driver sets when it brings a drive up; none of it is saved."""
NVME_IO: Final[Mapping[int, str]] = {0x02: "Read"}
"""NVM Command Set Specification 1.0c, figure 20."""
ATA: Final[Mapping[int, str]] = {
    0x00: "NOP",
    0x08: "DEVICE RESET",
    0x20: "READ SECTORS",
    0x24: "READ SECTORS EXT",
    0x25: "READ DMA EXT",
    0x27: "READ NATIVE MAX ADDRESS EXT",
    0x2F: "READ LOG EXT",
    0x47: "READ LOG DMA EXT",
    0x60: "READ FPDMA QUEUED",
    0x91: "INITIALIZE DEVICE PARAMETERS",
    0xA1: "IDENTIFY PACKET DEVICE",
    0xB0: "SMART",
    0xC4: "READ MULTIPLE",
    0xC6: "SET MULTIPLE MODE",
    0xC8: "READ DMA",
    0xE0: "STANDBY IMMEDIATE",
    0xE5: "CHECK POWER MODE",
    0xE7: "FLUSH CACHE",
    0xEA: "FLUSH CACHE EXT",
    0xEC: "IDENTIFY DEVICE",
    0xEF: "SET FEATURES",
    0xF8: "READ NATIVE MAX ADDRESS",
}
"""ACS-4 (T13/BSR INCITS 529), table 31 and ATA/ATAPI-7 for those it calls obsolete. A flush carries
no bytes: with no write before it nothing is in the cache; Linux sends it when it switches off.
"""
ATA_SMART: Final[Mapping[int, str]] = {0xD0: "READ DATA", 0xD1: "READ THRESHOLDS", 0xD5: "READ LOG",
                                       0xDA: "RETURN STATUS"}  # fmt: skip
ATA_FEATURES: Final[Mapping[int, str]] = {0x03: "transfer mode", 0x10: "enable a SATA feature",
                                          0x90: "disable a SATA feature"}  # fmt: skip
"""Of SMART and of SET FEATURES: ACS-4, tables 138 and 122."""
SD: Final = frozenset({0, 2, 3, 5, 6, 7, 8, 9, 10, 12, 13, 16, 17, 18, 19, 23, 52, 55})
SD_APPLICATION: Final = frozenset({6, 13, 41, 42, 51})
"""SD Physical Layer Simplified Specification 9.10, tables 4-21 to 4-34: no CMD24 to 29 (writing and
protecting), 32 to 38 (erasing), 42 (locking); of the application's no 23 (erasing before a write).
"""

NVME_LINE: Final = re.compile(r"pci_nvme_(admin|io)_cmd .*?opc (?:0x)?([0-9a-f]+)")
FEATURE_LINE: Final = re.compile(
    r"pci_nvme_setfeat .*?fid (?:0x)?([0-9a-f]+) save (?:0x)?([0-9a-f]+)"
)
SATA_LINE: Final = re.compile(r"handle_cmd_fis_dump .*?0x00:((?: [0-9a-f]{2})+)", re.DOTALL)
QUEUED_LINE: Final = re.compile(r"process_ncq_command .*NCQ op 0x([0-9a-f]+)")
IDE_LINE: Final = re.compile(r"ide_exec_cmd .*cmd 0x([0-9a-f]+)")
SD_LINE: Final = re.compile(r"sdcard_(normal|app)_command .*?\bA?CMD(\d+)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """How many commands reached drives of each bus, and those that may not."""

    counts: Mapping[str, int]
    refused: tuple[str, ...]


def trace_arguments(file: Path) -> list[str]:
    """What makes the emulator write down each command."""
    return ["-D", str(file), *(one for event in EVENTS for one in ("-trace", event))]


def judge_trace(text: str) -> Judged:
    """Everything in the emulator's trace."""
    counts = {"nvme": 0, "ata": 0, "sd": 0}
    refused = []
    for bus, is_allowed, told in _commands(text):
        counts[bus] += 1
        if not is_allowed:
            refused.append(told)
    return Judged(counts=counts, refused=tuple(refused))


def _commands(text: str) -> Iterator[tuple[str, bool, str]]:
    for queue, digits in NVME_LINE.findall(text):
        known = NVME_ADMIN if queue == "admin" else NVME_IO
        yield "nvme", int(digits, 16) in known, f"NVMe {queue} command {int(digits, 16):#04x}"
    for feature, saved in FEATURE_LINE.findall(text):
        is_allowed = int(feature, 16) in NVME_FEATURES and not int(saved, 16)
        yield "nvme", is_allowed, f"NVMe Set Features {int(feature, 16):#04x}, saved {saved}"
    for frame in SATA_LINE.findall(text):
        yield from _of_frame(bytes.fromhex(frame))
    for digits in (*IDE_LINE.findall(text), *QUEUED_LINE.findall(text)):
        yield "ata", int(digits, 16) in ATA, f"ATA command {int(digits, 16):#04x}"
    for kind, digits in SD_LINE.findall(text):
        known = SD if kind == "normal" else SD_APPLICATION
        yield "sd", int(digits) in known, f"SD {kind} command {digits}"


def _of_frame(frame: bytes) -> Iterator[tuple[str, bool, str]]:
    """A register frame to a drive (Serial ATA 3.5, 10.5.5): command at 2, feature at 3.

    Without bit 7 of the second byte it carries no command, but a reset.
    """
    if frame[1] & 0x80:
        command, feature = frame[2], frame[3]
        within = {0xB0: ATA_SMART, 0xEF: ATA_FEATURES}.get(command)
        is_allowed = command in ATA and (within is None or feature in within)
        yield "ata", is_allowed, f"ATA command {command:#04x}, feature {feature:#04x}"


def opened_for_writing(trace: str) -> set[int]:
    """The device numbers, as the kernel has them, of what was opened for writing."""
    found = OPENED.findall(trace)
    return {int(device) for device, mode in found if int(mode, 16) & WRITES}


def number_of(major_minor: str) -> int:
    """`8:0` as the kernel keeps it (include/linux/kdev_t.h: 20 bits for the minor)."""
    major, minor = major_minor.split(":")
    return int(major) << 20 | int(minor)


def digests(images: Iterable[Path]) -> dict[str, str]:
    """Each image's digest, by its name."""
    return {image.name: _digest(image) for image in images}


def _digest(image: Path) -> str:
    """Of all that is not zero, with its place: a drive of 256 GB is a hole almost everywhere."""
    told = hashlib.sha256(str(image.stat().st_size).encode())
    with image.open("rb") as opened:
        for number in _written_pieces(opened.fileno()):
            opened.seek(number * PIECE)
            content = opened.read(PIECE)
            if content.strip(b"\0"):
                told.update(f"{number} ".encode() + content)
    return told.hexdigest()


def _written_pieces(handle: int) -> Iterator[int]:
    """The pieces of a file that something was written in, by lseek(2); all others read as zeros."""
    at, last = 0, -1
    while True:
        try:
            begin = os.lseek(handle, at, os.SEEK_DATA)
        except OSError as failure:
            if failure.errno == errno.ENXIO:  # nothing more
                return
            raise
        at = os.lseek(handle, begin, os.SEEK_HOLE)
        for number in range(max(last + 1, begin // PIECE), (at - 1) // PIECE + 1):
            yield number
            last = number
