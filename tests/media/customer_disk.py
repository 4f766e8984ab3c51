"""A customer's disk as a file: partitions of every kind that a system might take up by itself.

What no tool made for a plain file is laid out by hand after its documentation; `blkid`, which knows
them all, says in the test whether it takes them for what they are.
"""

import struct
import subprocess
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Final

from media.stick_image import VOLUME_ID

MIB: Final = 1 << 20
LINUX: Final = "0FC63DAF-8483-4772-8E79-3D69D8477DE4"
SECTOR: Final = 512


def make_customer_disk(image: Path, mib: int) -> Path:
    """A disk of this size, at least 128 MiB, with a partition of each kind in PARTITIONS."""
    with image.open("wb") as opened:
        opened.truncate(mib * MIB)
    sizes = "".join(f"size={size}MiB, type={LINUX}\n" for size, _ in PARTITIONS.values())
    plan = f"label: gpt\n{sizes}"
    subprocess.run(["sfdisk", "--quiet", image], input=plan.encode(), check=True)
    begin = MIB
    for name, (size, make) in PARTITIONS.items():
        part = image.with_suffix(f".{name}")
        with part.open("wb") as opened:
            opened.truncate(size * MIB)
        make(part)
        with image.open("r+b") as opened:
            opened.seek(begin)
            opened.write(part.read_bytes())
        part.unlink()
        begin += size * MIB
    return image


def signatures(image: Path) -> list[str]:
    """What blkid, low-level, takes each partition for."""
    begin, found = MIB, []
    for size, _ in PARTITIONS.values():
        probe = ["blkid", "--probe", "--output", "value", "--match-tag", "TYPE"]
        window = ["--offset", str(begin), "--size", str(size * MIB), image]
        told = subprocess.run([*probe, *window], check=True, capture_output=True, text=True)
        found.append(told.stdout.strip())
        begin += size * MIB
    return found


def _run(*command: object) -> None:
    subprocess.run([str(one) for one in command], check=True, capture_output=True)


def _ext4(part: Path) -> None:
    """With a journal that was not emptied: whoever mounts it writes (needs_recovery)."""
    _run("mkfs.ext4", "-q", part)
    with part.open("r+b") as opened:
        opened.seek(1024 + 0x60)
        flags = int.from_bytes(opened.read(4), "little") | 0x4
        opened.seek(1024 + 0x60)
        opened.write(flags.to_bytes(4, "little"))


def _swap(part: Path) -> None:
    _run("mkswap", "-q", part)


def _luks(part: Path) -> None:
    """LUKS2's binary header (LUKS2 On-Disk Format 1.1, section 2.1): magic, version, size, UUID."""
    header = struct.pack(">6sHQQ48s32s64s40s48s", b"LUKS\xba\xbe", 2, 16384, 1, b"", b"sha256",
                         b"salt" * 16, b"6d7a1f0e-5b7e-4d1c-9f6a-2c3b4d5e6f70", b"")  # fmt: skip
    _write(part, 0, header)


def _md_member(part: Path) -> None:
    """A version 1.2 superblock, 4 KiB from the beginning (md(4); linux/raid/md_p.h)."""
    super_block = bytearray(256 + 2 * 2)
    struct.pack_into("<IIII16s32s", super_block, 0, 0xA92B4EFC, 1, 0, 0, b"R" * 16, b"unit:0")
    struct.pack_into("<QIIQI", super_block, 64, 1, 1, 0, 8192, 0)
    struct.pack_into("<I", super_block, 92, 2)  # disks
    struct.pack_into("<QQQ", super_block, 128, 2048, 8192, 8)
    struct.pack_into("<I", super_block, 160, 0)
    super_block[168:184] = b"D" * 16
    struct.pack_into("<I", super_block, 220, 2)  # entries of the roles behind
    total = sum(struct.unpack_from(f"<{len(super_block) // 4}I", super_block))
    checksum = (total & 0xFFFF_FFFF) + (total >> 32)
    struct.pack_into("<I", super_block, 216, checksum & 0xFFFF_FFFF)
    _write(part, 4096, bytes(super_block))


def _volume(part: Path) -> None:
    """An LVM2 label in the second sector (lvm2, format_text/layout.h), its CRC as LVM starts it."""
    content = struct.pack("<I8s", 32, b"LVM2 001") + b"u" * 32 + struct.pack("<Q", 8 * MIB)
    content = content.ljust(SECTOR - 20, b"\0")
    # LVM's polynomial is that of zlib without the two complements.
    checksum = zlib.crc32(content, 0xF597A6CF ^ 0xFFFF_FFFF) ^ 0xFFFF_FFFF
    _write(part, SECTOR, struct.pack("<8sQI", b"LABELONE", 1, checksum) + content)


def _copy_of_the_stick(part: Path) -> None:
    """Somebody copied the stick onto the disk: the same label, the same id."""
    _run(
        "mkfs.vfat", "-F", "32", "-s", "1", "-n", "CLOSEOUT", "-i", VOLUME_ID.replace("-", ""), part
    )
    for folder in ("orders", "profiles", "agent", "reports"):
        _run("mmd", "-i", part, f"::{folder}")


def _write(part: Path, place: int, content: bytes) -> None:
    with part.open("r+b") as opened:
        opened.seek(place)
        opened.write(content)


PARTITIONS: Final[dict[str, tuple[int, Callable[[Path], None]]]] = {
    "ext4": (16, _ext4),
    "swap": (8, _swap),
    "crypto_LUKS": (8, _luks),
    "linux_raid_member": (8, _md_member),
    "LVM2_member": (8, _volume),
    "vfat": (36, _copy_of_the_stick),
}
"""By blkid's names: MiB, and what lays it out."""
