"""An SMBIOS dump as one JSON object: entry point, faults, and every structure with its fields."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from typing import Final, cast

from closeout.decode.failure import DecodeError
from closeout.decode.smbios_bios import decode_bios
from closeout.decode.smbios_chassis import decode_chassis
from closeout.decode.smbios_entry import EntryPoint, decode_entry_point
from closeout.decode.smbios_fields import LABEL_KEY, Missing
from closeout.decode.smbios_identity import decode_board, decode_oem_strings, decode_system
from closeout.decode.smbios_memory import decode_memory_array, decode_memory_device
from closeout.decode.smbios_security import decode_hardware_security
from closeout.decode.smbios_table import Structure, decode_table
from closeout.model.frozen import fields, is_record

OEM_TYPES_FROM: Final = 128
NAMES: Final = {
    0: "BIOS",
    1: "System",
    2: "BaseBoard",
    3: "Chassis",
    4: "Processor",
    7: "Cache",
    8: "PortConnector",
    9: "SystemSlot",
    11: "OEMStrings",
    12: "SystemConfigurationOptions",
    13: "BIOSLanguage",
    14: "GroupAssociations",
    16: "MemoryArray",
    17: "MemoryDevice",
    19: "MemoryArrayMappedAddress",
    20: "MemoryDeviceMappedAddress",
    21: "PointingDevice",
    22: "PortableBattery",
    24: "HardwareSecurity",
    37: "MemoryChannel",
    39: "PowerSupply",
    41: "OnboardDevice",
    43: "TPMDevice",
    126: "Inactive",
    127: "EndOfTable",
}
DECODERS: Final[Mapping[int, Callable[[Structure], object]]] = {
    0: decode_bios,
    2: decode_board,
    3: decode_chassis,
    11: decode_oem_strings,
    16: decode_memory_array,
    17: decode_memory_device,
    24: decode_hardware_security,
}


def describe_smbios(raw: bytes) -> dict[str, object]:
    """JSON-ready content of a dump: entry point at 0, table at the offset that it names.

    Units stand in brackets in the field names; a field without a value is `{"absent": reason}`.
    DecodeError where there is no sound entry point or no table behind it.
    """
    entry = decode_entry_point(raw)
    if entry.table_offset >= len(raw):
        message = f"table at {entry.table_offset}, but the file has {len(raw)} bytes"
        raise DecodeError("SMBIOS table", len(raw), message)
    table = decode_table(raw[entry.table_offset :], entry)
    counts = Counter(structure.type for structure in table.structures)
    return {
        "version": _version_text(entry),
        "entry_point": {
            "anchor": entry.anchor,
            "table_offset": entry.table_offset,
            "table_length": entry.table_length,
            "structure_count": entry.structure_count,
        },
        "structure_count": len(table.structures),
        "counts": {str(number): counts[number] for number in sorted(counts)},
        "faults": [{"offset": fault.offset, "message": fault.message} for fault in table.faults],
        "structures": [_describe(structure, entry) for structure in table.structures],
    }


def decode_structure(structure: Structure, version: tuple[int, int] | None) -> object | None:
    """The record of a structure; None for a type that is listed but not decoded."""
    if structure.type == 1:
        return decode_system(structure, version)
    decode = DECODERS.get(structure.type)
    return None if decode is None else decode(structure)


def describe_record(record: object) -> dict[str, object]:
    """The labelled fields of a record, JSON-ready."""
    if not is_record(record):
        return {}
    return {
        field.metadata[LABEL_KEY]: _plain(getattr(record, field.name))
        for field in fields(type(record))
    }


def _describe(structure: Structure, entry: EntryPoint) -> dict[str, object]:
    return {
        "handle": f"0x{structure.handle:04X}",
        "type": structure.type,
        "name": _name(structure.type),
        "length": structure.length,
        "fields": describe_record(decode_structure(structure, entry.version)),
    }


def _name(number: int) -> str:
    if number >= OEM_TYPES_FROM:
        return "OEM-specific"
    return NAMES.get(number, f"Type {number}")


def _version_text(entry: EntryPoint) -> str:
    numbers = entry.version if entry.revision is None else (*entry.version, entry.revision)
    return ".".join(str(number) for number in numbers)


def _plain(value: object) -> object:
    if isinstance(value, Missing):
        return {"absent": value.reason}
    if isinstance(value, tuple):
        return [_plain(item) for item in cast("tuple[object, ...]", value)]
    if is_record(value):
        return describe_record(value)
    return value
