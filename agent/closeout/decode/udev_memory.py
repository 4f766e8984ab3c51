"""Memory out of udev's copy of the SMBIOS table: the properties `MEMORY_...` as records.

Format: systemd, src/udev/dmi_memory_id/dmi_memory_id.c. Sizes are in bytes, speeds in MT/s. The
copy rounds voltages to whole volts, so they are not taken from it. Of arrays it keeps the last one
alone, and of no module which array it belongs to, so nothing is taken of arrays.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from closeout.decode.numerals import parse_whole
from closeout.decode.smbios_fields import UNKNOWN_WORD, Field, Lack, Missing
from closeout.decode.smbios_memory import (
    SPEED_EXTENDED,
    MemoryDeviceRecord,
    decode_memory_device,
)
from closeout.decode.smbios_table import Structure
from closeout.model.frozen import replace
from closeout.model.late_pattern import late_pattern

PROPERTY: Final = late_pattern(r"MEMORY_DEVICE_([0-9]{1,3})_(\w+)")
NOTHING: Final[Mapping[str, str]] = {}

UNTOLD: Final = Missing(lack=Lack.NOT_THERE, reason="udev's copy does not tell it")
NOT_COPIED: Final = Missing(lack=Lack.UNDEFINED, reason="udev's copy cannot tell it")
NAMED_ABSENCES: Final[Mapping[str, Missing]] = {
    "Not Specified": Missing(lack=Lack.NO_STRING, reason="no string is given"),
    "<BAD INDEX>": Missing(lack=Lack.BAD_INDEX, reason="the string's index is out of range"),
    "<OUT OF SPEC>": NOT_COPIED,
}
"""What udev writes in place of a text. Its words end with SMBIOS 3.3, so what it calls out of
the specification may have a word today."""


def decode_udev_memory(properties: Mapping[str, str]) -> tuple[MemoryDeviceRecord, ...]:
    """Every module in the table's order; total, other properties are passed over."""
    slots: dict[int, dict[str, str]] = {}
    for name, text in properties.items():
        if found := PROPERTY.fullmatch(name):
            slots.setdefault(int(found[1]), {})[found[2]] = text
    return tuple(_module(slots.get(slot, NOTHING)) for slot in range(max(slots, default=-1) + 1))


def _module(told: Mapping[str, str]) -> MemoryDeviceRecord:
    return replace(
        _nothing_told(),
        is_fitted=_is_fitted(told),
        size_bytes=_number(told, "SIZE"),
        form_factor=_word(told, "FORM_FACTOR"),
        locator=_text(told, "LOCATOR"),
        bank_locator=_text(told, "BANK_LOCATOR"),
        memory_type=_word(told, "TYPE"),
        speed_mts=_speed(told, "SPEED_MTS"),
        configured_speed_mts=_speed(told, "CONFIGURED_SPEED_MTS"),
        manufacturer=_text(told, "MANUFACTURER"),
        serial=_text(told, "SERIAL_NUMBER"),
        asset_tag=_text(told, "ASSET_TAG"),
        part_number=_text(told, "PART_NUMBER"),
        rank=_number(told, "RANK"),
        width=_number(told, "DATA_WIDTH"),
        total_width=_number(told, "TOTAL_WIDTH"),
        technology=_word(told, "MEMORY_TECHNOLOGY"),
        configured_mv=NOT_COPIED,
    )


def _nothing_told() -> MemoryDeviceRecord:
    """A structure that ends behind its header, so that no field of it has a value."""
    header = Structure(
        offset=0, type=17, handle=0, length=4, formatted=bytes(4), strings=(), is_cut=False
    )
    return decode_memory_device(header)


def _is_fitted(told: Mapping[str, str]) -> Field[bool]:
    """`PRESENT=0` is an empty socket; a slot without any property is one that nothing is known of.

    A module of unknown size has neither `PRESENT` nor `SIZE`.
    """
    return told.get("PRESENT") != "0" if told else NOT_COPIED


def _text(told: Mapping[str, str], name: str) -> Field[str]:
    text = told.get(name)
    return UNTOLD if text is None else NAMED_ABSENCES.get(text, text)


def _word(told: Mapping[str, str], name: str) -> Field[str]:
    text = _text(told, name)
    if text == UNKNOWN_WORD:
        return Missing(lack=Lack.UNKNOWN, reason="the table says that it is unknown")
    return text


def _number(told: Mapping[str, str], name: str) -> Field[int]:
    text = told.get(name)
    if text is None:
        return UNTOLD
    number = parse_whole(text)
    return NOT_COPIED if number is None or number < 0 else number


def _speed(told: Mapping[str, str], name: str) -> Field[int]:
    """FFFFh stands for a speed in another field of the table, which udev does not read."""
    speed = _number(told, name)
    return NOT_COPIED if speed == SPEED_EXTENDED else speed
