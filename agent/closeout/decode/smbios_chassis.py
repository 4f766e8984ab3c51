"""The enclosure structure of SMBIOS, type 3, as a record.

DMTF DSP0134 section 7.4 (System Enclosure or Chassis); offsets are those of the standard.
"""

from __future__ import annotations

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
    text_at,
    unless,
    word_at,
    word_for,
)
from closeout.decode.smbios_table import Structure
from closeout.model.frozen import field, frozen

LOCK_BIT: Final = 0x80
STRUCTURE_BIT: Final = 0x80


@frozen
class ContainedElement:
    """A kind of part in the chassis, by structure type or by board type, and how many."""

    structure_type: Field[int] = field(metadata=labelled("Structure Type"))
    board_type: Field[str] = field(metadata=labelled("Board Type"))
    at_least: int = field(metadata=labelled("Minimum"))
    at_most: int = field(metadata=labelled("Maximum"))


@frozen
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


def _unspecified() -> tuple[int, Missing]:
    return 0, Missing(lack=Lack.UNKNOWN, reason="00h means unspecified")


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
