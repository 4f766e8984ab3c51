"""Identity structures of SMBIOS: types 0, 1, 2, 3 and 11 as records, field by field.

DMTF DSP0134 sections 7.1 (BIOS), 7.2 (System), 7.3 (Baseboard), 7.4 (System Enclosure) and
7.12 (OEM Strings); offsets are those of the standard.
"""

import uuid
from dataclasses import dataclass, field
from typing import Final

from closeout.decode import smbios_words as words
from closeout.decode.smbios_fields import (
    Field,
    Lack,
    Missing,
    bytes_at,
    change,
    labelled,
    number_at,
    numbered_text,
    text_at,
    unknown,
    unless,
    word_at,
    word_for,
    words_for,
)
from closeout.decode.smbios_table import Structure

PARAGRAPH: Final = 16
ROM_STEP: Final = 64 * 1024
ROM_SIZE_EXTENDED: Final = 0xFF
EXTENDED_ROM_SIZE_END: Final = 0x1A
ROM_UNITS: Final = {0: 1 << 20, 1: 1 << 30}
UUID_SWAPPED_SINCE: Final = (2, 6)
"""From this version on the first three fields of the UUID are little-endian (7.2.1)."""
LOCK_BIT: Final = 0x80
STRUCTURE_BIT: Final = 0x80


@dataclass(frozen=True, slots=True, kw_only=True)
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


@dataclass(frozen=True, slots=True, kw_only=True)
class SystemRecord:
    """Type 1, System."""

    manufacturer: Field[str] = field(metadata=labelled("Manufacturer"))
    product: Field[str] = field(metadata=labelled("Product Name"))
    version: Field[str] = field(metadata=labelled("Version"))
    serial: Field[str] = field(metadata=labelled("Serial Number"))
    uuid: Field[str] = field(metadata=labelled("UUID"))
    wake_up: Field[str] = field(metadata=labelled("Wake-up Type"))
    sku: Field[str] = field(metadata=labelled("SKU Number"))
    family: Field[str] = field(metadata=labelled("Family"))


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardRecord:
    """Type 2, Baseboard."""

    manufacturer: Field[str] = field(metadata=labelled("Manufacturer"))
    product: Field[str] = field(metadata=labelled("Product Name"))
    version: Field[str] = field(metadata=labelled("Version"))
    serial: Field[str] = field(metadata=labelled("Serial Number"))
    asset_tag: Field[str] = field(metadata=labelled("Asset Tag"))
    features: Field[tuple[str, ...]] = field(metadata=labelled("Features"))
    is_hosting: Field[bool] = field(metadata=labelled("Hosting Board"))
    location: Field[str] = field(metadata=labelled("Location In Chassis"))
    chassis_handle: Field[int] = field(metadata=labelled("Chassis Handle"))
    board_type: Field[str] = field(metadata=labelled("Type"))
    contained_handles: Field[tuple[int, ...]] = field(metadata=labelled("Contained Object Handles"))


@dataclass(frozen=True, slots=True, kw_only=True)
class ContainedElement:
    """A kind of part in the chassis, by structure type or by board type, and how many."""

    structure_type: Field[int] = field(metadata=labelled("Structure Type"))
    board_type: Field[str] = field(metadata=labelled("Board Type"))
    at_least: int = field(metadata=labelled("Minimum"))
    at_most: int = field(metadata=labelled("Maximum"))


@dataclass(frozen=True, slots=True, kw_only=True)
class ChassisRecord:
    """Type 3, System Enclosure or Chassis."""

    manufacturer: Field[str] = field(metadata=labelled("Manufacturer"))
    chassis_type: Field[str] = field(metadata=labelled("Type"))
    has_lock: Field[bool] = field(metadata=labelled("Lock"))
    version: Field[str] = field(metadata=labelled("Version"))
    serial: Field[str] = field(metadata=labelled("Serial Number"))
    asset_tag: Field[str] = field(metadata=labelled("Asset Tag"))
    boot_up_state: Field[str] = field(metadata=labelled("Boot-up State"))
    power_supply_state: Field[str] = field(metadata=labelled("Power Supply State"))
    thermal_state: Field[str] = field(metadata=labelled("Thermal State"))
    security_status: Field[str] = field(metadata=labelled("Security Status"))
    oem_defined: Field[int] = field(metadata=labelled("OEM Information"))
    height_units: Field[int] = field(metadata=labelled("Height (U)"))
    power_cords: Field[int] = field(metadata=labelled("Number Of Power Cords"))
    contained_elements: Field[tuple[ContainedElement, ...]] = field(
        metadata=labelled("Contained Elements")
    )
    sku: Field[str] = field(metadata=labelled("SKU Number"))


@dataclass(frozen=True, slots=True, kw_only=True)
class OemStringsRecord:
    """Type 11, OEM Strings."""

    strings: Field[tuple[Field[str], ...]] = field(metadata=labelled("Strings"))


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


def decode_system(structure: Structure, version: tuple[int, int] | None) -> SystemRecord:
    """Type 1 (7.2). `version` of the table decides the byte order of the UUID.

    None means that the version is not known; the order in use since 2.6 is taken then.
    """
    return SystemRecord(
        manufacturer=text_at(structure, 0x04),
        product=text_at(structure, 0x05),
        version=text_at(structure, 0x06),
        serial=text_at(structure, 0x07),
        uuid=change(bytes_at(structure, 0x08, 16), lambda raw: decode_uuid(raw, version)),
        wake_up=word_at(structure, 0x18, words.WAKE_UP),
        sku=text_at(structure, 0x19),
        family=text_at(structure, 0x1A),
    )


def decode_uuid(raw: bytes, version: tuple[int, int] | None) -> Field[str]:
    """RFC 9562 text in lower case out of 16 bytes; all 00 and all FF are no UUID (7.2.1)."""
    if raw == bytes(16):
        return Missing(lack=Lack.NOT_SET, reason="all 00: no UUID is set")
    if raw == b"\xff" * 16:
        return Missing(lack=Lack.NOT_SET, reason="all FF: no UUID is set")
    if version is not None and version < UUID_SWAPPED_SINCE:
        return str(uuid.UUID(bytes=raw))
    return str(uuid.UUID(bytes_le=raw))


def decode_board(structure: Structure) -> BoardRecord:
    """Type 2 (7.3)."""
    features = number_at(structure, 0x09)
    return BoardRecord(
        manufacturer=text_at(structure, 0x04),
        product=text_at(structure, 0x05),
        version=text_at(structure, 0x06),
        serial=text_at(structure, 0x07),
        asset_tag=text_at(structure, 0x08),
        features=change(features, lambda bits: words_for(bits, words.BOARD_FEATURES)),
        is_hosting=change(features, lambda bits: bool(bits & 1)),
        location=text_at(structure, 0x0A),
        chassis_handle=number_at(structure, 0x0B, 2),
        board_type=word_at(structure, 0x0D, words.BOARD_TYPE),
        contained_handles=change(
            number_at(structure, 0x0E), lambda count: _contained_handles(structure, count)
        ),
    )


def decode_chassis(structure: Structure) -> ChassisRecord:
    """Type 3 (7.4); the SKU number stands behind the contained elements."""
    kind = number_at(structure, 0x05)
    return ChassisRecord(
        manufacturer=text_at(structure, 0x04),
        chassis_type=change(kind, decode_chassis_type),
        has_lock=change(kind, lambda number: bool(number & LOCK_BIT)),
        version=text_at(structure, 0x06),
        serial=text_at(structure, 0x07),
        asset_tag=text_at(structure, 0x08),
        boot_up_state=word_at(structure, 0x09, words.CHASSIS_STATE),
        power_supply_state=word_at(structure, 0x0A, words.CHASSIS_STATE),
        thermal_state=word_at(structure, 0x0B, words.CHASSIS_STATE),
        security_status=word_at(structure, 0x0C, words.CHASSIS_SECURITY),
        oem_defined=number_at(structure, 0x0D, 4),
        height_units=unless(number_at(structure, 0x11), _unspecified()),
        power_cords=unless(number_at(structure, 0x12), _unspecified()),
        contained_elements=change(
            _elements_area(structure), lambda area: _contained_elements(structure, area)
        ),
        sku=change(
            _elements_area(structure), lambda area: text_at(structure, 0x15 + area[0] * area[1])
        ),
    )


def decode_chassis_type(number: int) -> Field[str]:
    """The word for a chassis type, with or without its lock bit (7.4.1)."""
    return word_for(number & ~LOCK_BIT, words.CHASSIS_TYPE)


def decode_oem_strings(structure: Structure) -> OemStringsRecord:
    """Type 11 (7.12): every string that its count announces."""
    return OemStringsRecord(
        strings=change(
            number_at(structure, 0x04),
            lambda count: tuple(numbered_text(structure, 1 + index) for index in range(count)),
        )
    )


def _no_segment() -> Missing:
    return Missing(lack=Lack.NOT_THERE, reason="0000h: no firmware in low memory (UEFI)")


def _unspecified() -> tuple[int, Missing]:
    return 0, Missing(lack=Lack.UNKNOWN, reason="00h means unspecified")


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


def _contained_handles(structure: Structure, count: int) -> Field[tuple[int, ...]]:
    area = bytes_at(structure, 0x0F, 2 * count)
    return change(
        area,
        lambda raw: tuple(
            int.from_bytes(raw[at : at + 2], "little") for at in range(0, len(raw), 2)
        ),
    )


def _elements_area(structure: Structure) -> Field[bytes]:
    """Count and size of the contained element records."""
    return bytes_at(structure, 0x13, 2)


def _contained_elements(structure: Structure, area: bytes) -> Field[tuple[ContainedElement, ...]]:
    count, size = area
    if count == 0:
        return ()
    if size < 3:
        return Missing(lack=Lack.UNDEFINED, reason=f"element records of {size} bytes, below 3")
    return change(
        bytes_at(structure, 0x15, count * size),
        lambda raw: tuple(_contained_element(raw[at : at + 3]) for at in range(0, len(raw), size)),
    )


def _contained_element(raw: bytes) -> ContainedElement:
    """Table in 7.4.4: type, minimum and maximum."""
    kind, at_least, at_most = raw
    other = Missing(lack=Lack.NOT_THERE, reason="the element is named by the other type")
    is_structure = bool(kind & STRUCTURE_BIT)
    return ContainedElement(
        structure_type=kind & ~STRUCTURE_BIT if is_structure else other,
        board_type=other if is_structure else word_for(kind, words.BOARD_TYPE),
        at_least=at_least,
        at_most=at_most,
    )
