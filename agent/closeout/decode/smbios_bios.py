"""The firmware structure of SMBIOS, type 0, as a record.

DMTF DSP0134 section 7.1 (BIOS); offsets are those of the standard.
"""

from __future__ import annotations

from typing import Final

from closeout.decode import smbios_words as words
from closeout.decode.smbios_fields import (
    Field,
    Lack,
    Missing,
    change,
    labelled,
    number_at,
    text_at,
    unknown,
    unless,
    words_for,
)
from closeout.decode.smbios_table import Structure
from closeout.model.frozen import field, frozen

PARAGRAPH: Final = 16
ROM_STEP: Final = 64 * 1024
ROM_SIZE_EXTENDED: Final = 0xFF
EXTENDED_ROM_SIZE_END: Final = 0x1A
ROM_UNITS: Final = {0: 1 << 20, 1: 1 << 30}


@frozen
class BiosRecord:
    """Type 0, BIOS."""

    vendor: Field[str] = field(metadata=labelled("Vendor"))
    version: Field[str] = field(metadata=labelled("Version"))
    date: Field[str] = field(metadata=labelled("Release Date"))
    address: Field[int] = field(metadata=labelled("Address"))
    runtime_size_bytes: Field[int] = field(metadata=labelled("Runtime Size (B)"))
    rom_size_bytes: Field[int] = field(metadata=labelled("ROM Size (B)"))
    characteristics: Field[tuple[str, ...]] = field(metadata=labelled("Characteristics"))
    extension_1: Field[tuple[str, ...]] = field(metadata=labelled("Characteristics Extension 1"))
    extension_2: Field[tuple[str, ...]] = field(metadata=labelled("Characteristics Extension 2"))
    is_uefi_capable: Field[bool] = field(metadata=labelled("UEFI Supported"))
    release: Field[str] = field(metadata=labelled("BIOS Revision"))
    ec_release: Field[str] = field(metadata=labelled("Firmware Revision"))


def decode_bios(structure: Structure) -> BiosRecord:
    """Type 0 (7.1). Sizes in bytes; `address` is where the firmware starts in low memory."""
    segment = unless(number_at(structure, 0x06, 2), (0, _no_segment()))
    extension_2 = number_at(structure, 0x13)
    return BiosRecord(
        vendor=text_at(structure, 0x04),
        version=text_at(structure, 0x05),
        date=text_at(structure, 0x08),
        address=change(segment, lambda number: number * PARAGRAPH),
        runtime_size_bytes=change(segment, lambda number: (0x10000 - number) * PARAGRAPH),
        rom_size_bytes=_rom_size(structure),
        characteristics=change(number_at(structure, 0x0A, 8), _characteristics),
        extension_1=change(
            number_at(structure, 0x12), lambda bits: words_for(bits, words.BIOS_EXTENSION_1)
        ),
        extension_2=change(extension_2, lambda bits: words_for(bits, words.BIOS_EXTENSION_2)),
        is_uefi_capable=change(extension_2, lambda bits: bool(bits >> words.UEFI_BIT & 1)),
        release=_release(structure, 0x14),
        ec_release=_release(structure, 0x16),
    )


def _no_segment() -> Missing:
    return Missing(lack=Lack.NOT_THERE, reason="0000h: no firmware in low memory (UEFI)")


def _characteristics(bits: int) -> tuple[str, ...]:
    if bits >> 3 & 1:
        return (words.BIOS_CHARACTERISTICS[3],)
    return words_for(bits, words.BIOS_CHARACTERISTICS)


def _rom_size(structure: Structure) -> Field[int]:
    """Before version 3.1 there is no extended size, and FFh is a size like any other."""
    size = number_at(structure, 0x09)
    if size == ROM_SIZE_EXTENDED and structure.length >= EXTENDED_ROM_SIZE_END:
        return change(number_at(structure, 0x18, 2), _extended_rom_size)
    return change(size, lambda number: (number + 1) * ROM_STEP)


def _extended_rom_size(word: int) -> Field[int]:
    unit = ROM_UNITS.get(word >> 14)
    if unit is None:
        return Missing(lack=Lack.UNDEFINED, reason=f"unit {word >> 14} is not defined")
    return (word & 0x3FFF) * unit


def _release(structure: Structure, offset: int) -> Field[str]:
    major_minor = unless(number_at(structure, offset, 2), unknown(0xFFFF, 2))
    return change(major_minor, lambda word: f"{word & 0xFF}.{word >> 8}")
