"""Memory structures of SMBIOS: types 16 and 17 as records, field by field.

DMTF DSP0134 sections 7.17 (Physical Memory Array) and 7.18 (Memory Device); offsets are those
of the standard. Sizes are in bytes, speeds in MT/s, voltages in mV, widths in bits.
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
    word_at,
    words_for,
)
from closeout.decode.smbios_table import Structure
from closeout.model.frozen import field, frozen

KIB: Final = 1 << 10
MIB: Final = 1 << 20
CAPACITY_EXTENDED: Final = 0x8000_0000
SIZE_EXTENDED: Final = 0x7FFF
SIZE_IN_KIB: Final = 0x8000
SPEED_EXTENDED: Final = 0xFFFF
LOW_31_BITS: Final = 0x7FFF_FFFF
RANK_BITS: Final = 0x0F


@frozen
class MemoryArrayRecord:
    """Type 16, Physical Memory Array."""

    location: Field[str] = field(metadata=labelled("Location"))
    use: Field[str] = field(metadata=labelled("Use"))
    correction: Field[str] = field(metadata=labelled("Error Correction Type"))
    capacity_bytes: Field[int] = field(metadata=labelled("Maximum Capacity (B)"))
    error_handle: Field[int] = field(metadata=labelled("Error Information Handle"))
    device_count: Field[int] = field(metadata=labelled("Number Of Devices"))


@frozen
class MemoryDeviceRecord:
    """Type 17, Memory Device: one socket or soldered bank."""

    array_handle: Field[int] = field(metadata=labelled("Array Handle"))
    error_handle: Field[int] = field(metadata=labelled("Error Information Handle"))
    total_width: Field[int] = field(metadata=labelled("Total Width (bit)"))
    width: Field[int] = field(metadata=labelled("Data Width (bit)"))
    is_fitted: Field[bool] = field(metadata=labelled("Module Installed"))
    size_bytes: Field[int] = field(metadata=labelled("Size (B)"))
    form_factor: Field[str] = field(metadata=labelled("Form Factor"))
    device_set: Field[int] = field(metadata=labelled("Set"))
    locator: Field[str] = field(metadata=labelled("Locator"))
    bank_locator: Field[str] = field(metadata=labelled("Bank Locator"))
    memory_type: Field[str] = field(metadata=labelled("Type"))
    type_detail: Field[tuple[str, ...]] = field(metadata=labelled("Type Detail"))
    speed_mts: Field[int] = field(metadata=labelled("Speed (MT/s)"))
    manufacturer: Field[str] = field(metadata=labelled("Manufacturer"))
    serial: Field[str] = field(metadata=labelled("Serial Number"))
    asset_tag: Field[str] = field(metadata=labelled("Asset Tag"))
    part_number: Field[str] = field(metadata=labelled("Part Number"))
    rank: Field[int] = field(metadata=labelled("Rank"))
    configured_speed_mts: Field[int] = field(metadata=labelled("Configured Memory Speed (MT/s)"))
    minimum_mv: Field[int] = field(metadata=labelled("Minimum Voltage (mV)"))
    maximum_mv: Field[int] = field(metadata=labelled("Maximum Voltage (mV)"))
    configured_mv: Field[int] = field(metadata=labelled("Configured Voltage (mV)"))
    technology: Field[str] = field(metadata=labelled("Memory Technology"))
    operating_modes: Field[tuple[str, ...]] = field(
        metadata=labelled("Memory Operating Mode Capability")
    )
    firmware: Field[str] = field(metadata=labelled("Firmware Version"))
    module_maker_id: Field[int] = field(metadata=labelled("Module Manufacturer ID"))
    module_product_id: Field[int] = field(metadata=labelled("Module Product ID"))
    controller_maker_id: Field[int] = field(
        metadata=labelled("Memory Subsystem Controller Manufacturer ID")
    )
    controller_product_id: Field[int] = field(
        metadata=labelled("Memory Subsystem Controller Product ID")
    )
    non_volatile_bytes: Field[int] = field(metadata=labelled("Non-Volatile Size (B)"))
    volatile_bytes: Field[int] = field(metadata=labelled("Volatile Size (B)"))
    cache_bytes: Field[int] = field(metadata=labelled("Cache Size (B)"))
    logical_bytes: Field[int] = field(metadata=labelled("Logical Size (B)"))
    power_controller_maker_id: Field[int] = field(metadata=labelled("PMIC0 Manufacturer ID"))
    power_controller_revision: Field[int] = field(metadata=labelled("PMIC0 Revision Number"))
    clock_driver_maker_id: Field[int] = field(metadata=labelled("RCD Manufacturer ID"))
    clock_driver_revision: Field[int] = field(metadata=labelled("RCD Revision Number"))


def decode_memory_array(structure: Structure) -> MemoryArrayRecord:
    """Type 16 (7.17)."""
    return MemoryArrayRecord(
        location=word_at(structure, 0x04, words.ARRAY_LOCATION),
        use=word_at(structure, 0x05, words.ARRAY_USE),
        correction=word_at(structure, 0x06, words.ARRAY_CORRECTION),
        capacity_bytes=_capacity(structure),
        error_handle=_error_handle(structure, 0x0B),
        device_count=number_at(structure, 0x0D, 2),
    )


def decode_memory_device(structure: Structure) -> MemoryDeviceRecord:
    """Type 17 (7.18). A JEDEC maker id keeps both bytes: bank in the low, code in the high one."""
    return MemoryDeviceRecord(
        array_handle=number_at(structure, 0x04, 2),
        error_handle=_error_handle(structure, 0x06),
        total_width=_width(structure, 0x08),
        width=_width(structure, 0x0A),
        is_fitted=change(number_at(structure, 0x0C, 2), bool),
        size_bytes=_size(structure),
        form_factor=word_at(structure, 0x0E, words.FORM_FACTOR),
        device_set=_device_set(structure),
        locator=text_at(structure, 0x10),
        bank_locator=text_at(structure, 0x11),
        memory_type=word_at(structure, 0x12, words.MEMORY_TYPE),
        type_detail=change(
            number_at(structure, 0x13, 2), lambda bits: words_for(bits, words.MEMORY_DETAIL)
        ),
        speed_mts=_speed(structure, 0x15, 0x54),
        manufacturer=text_at(structure, 0x17),
        serial=text_at(structure, 0x18),
        asset_tag=text_at(structure, 0x19),
        part_number=text_at(structure, 0x1A),
        rank=_rank(structure),
        configured_speed_mts=_speed(structure, 0x20, 0x58),
        minimum_mv=_known(structure, 0x22, 2, 0),
        maximum_mv=_known(structure, 0x24, 2, 0),
        configured_mv=_known(structure, 0x26, 2, 0),
        technology=word_at(structure, 0x28, words.MEMORY_TECHNOLOGY),
        operating_modes=change(
            number_at(structure, 0x29, 2), lambda bits: words_for(bits, words.OPERATING_MODE)
        ),
        firmware=text_at(structure, 0x2B),
        module_maker_id=_known(structure, 0x2C, 2, 0),
        module_product_id=_known(structure, 0x2E, 2, 0),
        controller_maker_id=_known(structure, 0x30, 2, 0),
        controller_product_id=_known(structure, 0x32, 2, 0),
        non_volatile_bytes=_known(structure, 0x34, 8, 0xFFFF_FFFF_FFFF_FFFF),
        volatile_bytes=_known(structure, 0x3C, 8, 0xFFFF_FFFF_FFFF_FFFF),
        cache_bytes=_known(structure, 0x44, 8, 0xFFFF_FFFF_FFFF_FFFF),
        logical_bytes=_known(structure, 0x4C, 8, 0xFFFF_FFFF_FFFF_FFFF),
        power_controller_maker_id=_known(structure, 0x5C, 2, 0),
        power_controller_revision=_known(structure, 0x5E, 2, 0xFF00),
        clock_driver_maker_id=_known(structure, 0x60, 2, 0),
        clock_driver_revision=_known(structure, 0x62, 2, 0xFF00),
    )


def _known(structure: Structure, offset: int, size: int, sentinel: int) -> Field[int]:
    return unless(number_at(structure, offset, size), unknown(sentinel, size))


def _error_handle(structure: Structure, offset: int) -> Field[int]:
    return unless(
        number_at(structure, offset, 2),
        (0xFFFE, Missing(lack=Lack.NOT_THERE, reason="FFFEh: no error record is provided")),
        (0xFFFF, Missing(lack=Lack.NOT_THERE, reason="FFFFh: no error was detected")),
    )


def _width(structure: Structure, offset: int) -> Field[int]:
    """Bits; empty sockets often say 0 instead of FFFFh."""
    return unless(number_at(structure, offset, 2), unknown(0, 2), unknown(0xFFFF, 2))


def _capacity(structure: Structure) -> Field[int]:
    capacity = number_at(structure, 0x07, 4)
    if capacity == CAPACITY_EXTENDED:
        return number_at(structure, 0x0F, 8)
    return change(capacity, lambda number: number * KIB)


def _size(structure: Structure) -> Field[int]:
    size = unless(
        number_at(structure, 0x0C, 2),
        (0, Missing(lack=Lack.NOT_THERE, reason="0000h: no module is installed")),
        unknown(0xFFFF, 2),
    )
    if size == SIZE_EXTENDED:
        return change(number_at(structure, 0x1C, 4), lambda word: (word & LOW_31_BITS) * MIB)
    return change(size, _short_size)


def _short_size(word: int) -> int:
    if word & SIZE_IN_KIB:
        return (word & ~SIZE_IN_KIB) * KIB
    return word * MIB


def _device_set(structure: Structure) -> Field[int]:
    return unless(
        number_at(structure, 0x0F),
        (0, Missing(lack=Lack.NOT_THERE, reason="00h: not part of a set")),
        unknown(0xFF, 1),
    )


def _speed(structure: Structure, offset: int, extended_offset: int) -> Field[int]:
    speed = _known(structure, offset, 2, 0)
    if speed != SPEED_EXTENDED:
        return speed
    extended = change(number_at(structure, extended_offset, 4), lambda word: word & LOW_31_BITS)
    return unless(extended, unknown(0, 4))


def _rank(structure: Structure) -> Field[int]:
    rank = change(number_at(structure, 0x1B), lambda attributes: attributes & RANK_BITS)
    return unless(rank, unknown(0, 1))
