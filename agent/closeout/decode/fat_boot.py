"""The boot sector of a FAT file system: its volume id and its label.

After Microsoft's "FAT: General Overview of On-Disk Format" 1.03 (fatgen103), pages 7 to 12: the
signature 55h AAh at 510, the bytes of a sector at 11, and the extended boot record, which stands at
36 with FAT12 and FAT16 and at 64 with FAT32.
"""

from __future__ import annotations

from typing import Final

from closeout.decode.failure import DecodeError
from closeout.model.frozen import frozen

WHAT: Final = "FAT boot sector"
SECTOR: Final = 512
SECTOR_SIZES: Final = (512, 1024, 2048, 4096)
LATER_RECORD, EARLIER_RECORD = 64, 36
HAS_LABEL: Final = 0x29


@frozen
class FatVolume:
    """`volume_id` as desktops show it, `1A2B-3C4D`; the label without the blanks behind it."""

    volume_id: str
    label: str


def decode_fat_boot(raw: bytes) -> FatVolume:
    """The volume whose first sector this is."""
    if len(raw) < SECTOR:
        raise DecodeError(WHAT, len(raw), f"needs {SECTOR} bytes, got {len(raw)}")
    if raw[510:512] != b"\x55\xaa":
        raise DecodeError(WHAT, 510, "no signature 55h AAh")
    if int.from_bytes(raw[11:13], "little") not in SECTOR_SIZES or not raw[16]:
        raise DecodeError(WHAT, 11, "no sectors or tables as FAT has them")
    is_later = raw[22:24] == bytes(2)  # sectors of one table, which FAT32 has at 36 alone
    record = LATER_RECORD if is_later else EARLIER_RECORD
    if raw[record + 2] != HAS_LABEL or raw[record + 18 : record + 21] != b"FAT":
        raise DecodeError(WHAT, record, "no record of a volume's id and label")
    number = int.from_bytes(raw[record + 3 : record + 7], "little")
    label = raw[record + 7 : record + 18].decode("ascii", "replace").rstrip(" \0")
    return FatVolume(volume_id=f"{number >> 16:04X}-{number & 0xFFFF:04X}", label=label)
