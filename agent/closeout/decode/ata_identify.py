"""What an ATA drive says of itself: the answer to IDENTIFY DEVICE.

Layout: T13 ACS-3, section 7.12.7 (word numbers as in the kernel's include/linux/ata.h; meanings
of words 76, 77, 106, 128 and 217 from memory).
"""

from __future__ import annotations

from typing import Final

from closeout.decode.drive_block import is_sum_good, number_at, require_block
from closeout.decode.failure import DecodeError
from closeout.model.frozen import frozen

WHAT: Final = "IDENTIFY DEVICE"
NOT_ATA: Final = 0x8000
COMPACT_FLASH: Final = 0x848A
"""Word 0 of a CompactFlash card, which has the bit of a packet device and is none."""
SIGNATURE: Final = 0xA5
NOT_REPORTED: Final = frozenset({0x0000, 0xFFFF})
SOLID_STATE: Final = 1
TURNS: Final = range(0x0401, 0xFFFF)
SPEEDS: Final = {1: "1.5 Gbps", 2: "3.0 Gbps", 3: "6.0 Gbps"}
"""Generations of the link, in the words of the kernel's `sata_spd`."""
SECURITY_BITS: Final = (
    "supported",
    "enabled",
    "locked",
    "frozen",
    "attempts used up",
    "enhanced erase supported",
)
"""Bits 0 to 5 of word 128; bit 8 is the level of the master password's power."""
MAXIMUM_LEVEL: Final = 1 << 8
MOST_MAJOR: Final = 15


@frozen
class AtaDevice:
    """The fields that this program uses; None where the drive does not report one.

    `rotations_per_minute` is 0 for a drive without platters. `checksum_good` is None where word
    255 has no signature, as the standard allows.
    """

    model: str
    serial: str
    firmware: str
    sectors: int | None
    logical_sector_bytes: int
    physical_sector_bytes: int
    rotations_per_minute: int | None
    major_versions: tuple[int, ...]
    link_speed_best: str | None
    link_speed_now: str | None
    smart_supported: bool | None
    smart_enabled: bool | None
    security: tuple[str, ...] | None
    checksum_good: bool | None


def decode_ata_identify(raw: bytes) -> AtaDevice:
    """The drive's identity; a wrong sum is a fact in it, not an error.

    Raises:
        DecodeError: no 512 bytes, all of them 00h or FFh, or a packet device such as a DVD drive.
    """
    require_block(WHAT, raw)
    word = _words(raw)
    if word[0] & NOT_ATA and word[0] != COMPACT_FLASH:
        raise DecodeError(WHAT, 0, "is of a packet device, not of a drive")
    logical, physical = _sector_bytes(word)
    return AtaDevice(
        model=_text(raw, 27, 47),
        serial=_text(raw, 10, 20),
        firmware=_text(raw, 23, 27),
        sectors=_sectors(raw, word),
        logical_sector_bytes=logical,
        physical_sector_bytes=physical,
        rotations_per_minute=_rotations(word[217]),
        major_versions=_majors(word[80]),
        link_speed_best=_best_speed(word[76]),
        link_speed_now=SPEEDS.get(word[77] >> 1 & 0x7) if _is_reported(word[76]) else None,
        smart_supported=_feature(word[82], word[83], 0),
        smart_enabled=_feature(word[85], word[87], 0),
        security=_security(word),
        checksum_good=is_sum_good(raw) if raw[510] == SIGNATURE else None,
    )


def _words(raw: bytes) -> tuple[int, ...]:
    return tuple(number_at(raw, at, 2) for at in range(0, len(raw), 2))


def _text(raw: bytes, first: int, behind: int) -> str:
    """Text of words: the first character of each pair sits in the word's high byte."""
    swapped = bytearray(raw[2 * first : 2 * behind])
    swapped[0::2], swapped[1::2] = swapped[1::2], swapped[0::2]
    return swapped.decode("latin-1").strip(" \0")


def _is_reported(word: int) -> bool:
    return word not in NOT_REPORTED


def _is_valid(word: int) -> bool:
    """Bits 15 and 14 are 01, which marks a word that the drive has filled in."""
    return word >> 14 == 0b01


def _sectors(raw: bytes, word: tuple[int, ...]) -> int | None:
    """Words 100 to 103 where 48-bit addresses are supported (word 83, bit 10), else 60 and 61."""
    wide = number_at(raw, 200, 8) if _feature(word[83], word[83], 10) else 0
    return wide or number_at(raw, 120, 4) or None


def _sector_bytes(word: tuple[int, ...]) -> tuple[int, int]:
    """Logical and physical: 512 unless word 106 says otherwise."""
    if not _is_valid(word[106]):
        return 512, 512
    long = 2 * (word[117] | word[118] << 16) if word[106] >> 12 & 1 else 512
    ratio = word[106] & 0xF if word[106] >> 13 & 1 else 0
    return long, long << ratio


def _rotations(word: int) -> int | None:
    if word == SOLID_STATE:
        return 0
    return word if word in TURNS else None


def _majors(word: int) -> tuple[int, ...]:
    """The ATA/ATAPI versions that it follows: 8 is ATA8-ACS, 9 ACS-2, 10 ACS-3."""
    if not _is_reported(word):
        return ()
    return tuple(bit for bit in range(1, MOST_MAJOR) if word >> bit & 1)


def _best_speed(word: int) -> str | None:
    if not _is_reported(word):
        return None
    known = [words for generation, words in SPEEDS.items() if word >> generation & 1]
    return known[-1] if known else None


def _feature(word: int, guard: int, bit: int) -> bool | None:
    return bool(word >> bit & 1) if _is_valid(guard) else None


def _security(word: tuple[int, ...]) -> tuple[str, ...] | None:
    """Word 128 in words; none where the drive has no security feature (word 82, bit 1)."""
    if word[128] == 0xFFFF:
        return None
    if not word[128]:
        return () if _is_valid(word[83]) else None
    told = tuple(words for bit, words in enumerate(SECURITY_BITS) if word[128] >> bit & 1)
    return (*told, "maximum level") if word[128] & MAXIMUM_LEVEL else told
