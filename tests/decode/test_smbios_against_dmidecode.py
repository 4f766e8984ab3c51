"""Every decoded field against dmidecode 3.4, on the tables of ten real machines.

dmidecode's words are parsed into values, so that numbers are compared as numbers.
"""

import re
from collections import Counter
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from closeout.decode.smbios_bios import BiosRecord
from closeout.decode.smbios_chassis import ChassisRecord
from closeout.decode.smbios_description import decode_structure
from closeout.decode.smbios_entry import decode_entry_point
from closeout.decode.smbios_fields import Lack, Missing
from closeout.decode.smbios_identity import decode_oem_strings
from closeout.decode.smbios_memory import MemoryDeviceRecord
from closeout.decode.smbios_table import Structure, Table, decode_table
from closeout.decode.smbios_words import BIOS_CHARACTERISTICS
from oracles import dmidecode
from strategies import smbios

DUMPS = {
    "desktop-2014": 136,
    "desktop-no-brand": 156,
    "dual-socket-server": 163,
    "hypervisor-broken-end": 31,
    "mini-pc-2023": 91,
    "notebook-2013": 115,
    "notebook-2014": 93,
    "notebook-2020": 94,
    "thin-notebook-2018": 94,
    "workstation-notebook-2010": 108,
}
"""How many fields are compared in each."""
UNITS = {"bytes": 0, "B": 0, "kB": 10, "MB": 20, "GB": 30, "TB": 40, "PB": 50, "EB": 60}
Parse = Callable[[str, tuple[str, ...]], object]


def text(printed: str, _: tuple[str, ...]) -> object:
    return {"Not Specified": Lack.NO_STRING, "<BAD INDEX>": Lack.BAD_INDEX}.get(printed, printed)


def word(printed: str, _: tuple[str, ...]) -> object:
    return {"Unknown": Lack.UNKNOWN, "<OUT OF SPEC>": Lack.UNDEFINED}.get(printed, printed)


def size(printed: str, _: tuple[str, ...]) -> object:
    if printed == "No Module Installed":
        return Lack.NOT_THERE
    if printed in {"Unknown", "None"}:
        return Lack.UNKNOWN if printed == "Unknown" else 0
    amount, unit = printed.split()
    return int(amount) << UNITS[unit]


def number(printed: str, _: tuple[str, ...]) -> object:
    if printed in {"Unknown", "Unspecified"}:
        return Lack.UNKNOWN
    if printed in {"Not Provided", "No Error", "None"}:
        return Lack.NOT_THERE
    return int(printed.split(maxsplit=1)[0], 0)


def millivolts(printed: str, _: tuple[str, ...]) -> object:
    return (
        Lack.UNKNOWN if printed == "Unknown" else round(float(printed.split(maxsplit=1)[0]) * 1000)
    )


def jedec(printed: str, _: tuple[str, ...]) -> object:
    """Bank 6, Hex 0x9B: the low byte holds bank less one and odd parity."""
    found = re.fullmatch(r"Bank (\d+), Hex 0x([0-9A-F]{2})", printed)
    if not found:
        return Lack.UNKNOWN
    bank = int(found[1]) - 1
    parity = 0 if bank.bit_count() % 2 else 0x80
    return int(found[2], 16) << 8 | bank | parity


def listed(printed: str, lines: tuple[str, ...]) -> object:
    return () if printed == "None" else lines


def joined(printed: str, _: tuple[str, ...]) -> object:
    """Words in one line, as `ours` joins them."""
    return "" if printed == "None" else printed


def handles(_: str, lines: tuple[str, ...]) -> object:
    return tuple(int(line, 16) for line in lines)


def count_only(printed: str, _: tuple[str, ...]) -> object:
    return int(printed)


def uuid(printed: str, _: tuple[str, ...]) -> object:
    return Lack.NOT_SET if printed in {"Not Settable", "Not Present"} else printed


def lock(printed: str, _: tuple[str, ...]) -> object:
    return printed == "Present"


BIOS: Mapping[str, tuple[str, Parse]] = {
    "Vendor": ("vendor", text),
    "Version": ("version", text),
    "Release Date": ("date", text),
    "Address": ("address", number),
    "Runtime Size": ("runtime_size_bytes", size),
    "ROM Size": ("rom_size_bytes", size),
    "Characteristics": ("all_characteristics", listed),
    "BIOS Revision": ("release", text),
    "Firmware Revision": ("ec_release", text),
}
NAMES: Mapping[str, tuple[str, Parse]] = {
    "Manufacturer": ("manufacturer", text),
    "Product Name": ("product", text),
    "Version": ("version", text),
    "Serial Number": ("serial", text),
    "Asset Tag": ("asset_tag", text),
    "SKU Number": ("sku", text),
}
SYSTEM = {
    **NAMES,
    "Family": ("family", text),
    "UUID": ("uuid", uuid),
    "Wake-up Type": ("wake_up", word),
}
BOARD = {
    **NAMES,
    "Features": ("features", listed),
    "Location In Chassis": ("location", text),
    "Chassis Handle": ("chassis_handle", number),
    "Type": ("board_type", word),
    "Contained Object Handles": ("contained_handles", handles),
}
CHASSIS = {
    **NAMES,
    "Type": ("chassis_type", word),
    "Lock": ("has_lock", lock),
    "Boot-up State": ("boot_up_state", word),
    "Power Supply State": ("power_supply_state", word),
    "Thermal State": ("thermal_state", word),
    "Security Status": ("security_status", word),
    "OEM Information": ("oem_defined", number),
    "Height": ("height_units", number),
    "Number Of Power Cords": ("power_cords", number),
    "Contained Elements": ("element_count", count_only),
}
ARRAY = {
    "Location": ("location", word),
    "Use": ("use", word),
    "Error Correction Type": ("correction", word),
    "Maximum Capacity": ("capacity_bytes", size),
    "Error Information Handle": ("error_handle", number),
    "Number Of Devices": ("device_count", number),
}
DEVICE = {
    "Array Handle": ("array_handle", number),
    "Error Information Handle": ("error_handle", number),
    "Total Width": ("total_width", number),
    "Data Width": ("width", number),
    "Size": ("size_bytes", size),
    "Form Factor": ("form_factor", word),
    "Set": ("device_set", number),
    "Locator": ("locator", text),
    "Bank Locator": ("bank_locator", text),
    "Type": ("memory_type", word),
    "Type Detail": ("type_detail", joined),
    "Speed": ("speed_mts", number),
    "Manufacturer": ("manufacturer", text),
    "Serial Number": ("serial", text),
    "Asset Tag": ("asset_tag", text),
    "Part Number": ("part_number", text),
    "Rank": ("rank", number),
    "Configured Memory Speed": ("configured_speed_mts", number),
    "Minimum Voltage": ("minimum_mv", millivolts),
    "Maximum Voltage": ("maximum_mv", millivolts),
    "Configured Voltage": ("configured_mv", millivolts),
    "Memory Technology": ("technology", word),
    "Memory Operating Mode Capability": ("operating_modes", joined),
    "Firmware Version": ("firmware", text),
    "Module Manufacturer ID": ("module_maker_id", jedec),
    "Module Product ID": ("module_product_id", number),
    "Memory Subsystem Controller Manufacturer ID": ("controller_maker_id", jedec),
    "Memory Subsystem Controller Product ID": ("controller_product_id", number),
    "Non-Volatile Size": ("non_volatile_bytes", size),
    "Volatile Size": ("volatile_bytes", size),
    "Cache Size": ("cache_bytes", size),
    "Logical Size": ("logical_bytes", size),
}
SECURITY = {
    "Power-On Password Status": ("power_on", word),
    "Keyboard Password Status": ("keyboard", word),
    "Administrator Password Status": ("administrator", word),
    "Front Panel Reset Status": ("front_panel_reset", word),
}
LABELS = {0: BIOS, 1: SYSTEM, 2: BOARD, 3: CHASSIS, 16: ARRAY, 17: DEVICE, 24: SECURITY}
FIRST_LABEL_OF_MODULE = "Speed"
"""From here on dmidecode says nothing of a socket without a module."""

SILENT_WITHOUT_VALUE = {
    ("address", Lack.NOT_THERE),
    ("runtime_size_bytes", Lack.NOT_THERE),
    ("release", Lack.UNKNOWN),
    ("ec_release", Lack.UNKNOWN),
}

NAMED_BY_MAKER = {
    "Japanese floppy for NEC 9800 1.2 MB is supported (int 13h)": BIOS_CHARACTERISTICS[20],
    "Japanese floppy for Toshiba 1.2 MB is supported (int 13h)": BIOS_CHARACTERISTICS[21],
}
"""Two characteristics bear makers' names in the standard; ours say what the floppies are."""


def decode_dump(raw: bytes) -> tuple[Table, tuple[int, int]]:
    entry = decode_entry_point(raw)
    return decode_table(raw[entry.table_offset :], entry), entry.version


def comparable(value: object, strings: tuple[bytes, ...]) -> object:
    """A lack for what is missing, and texts as dmidecode prints their bytes."""
    if isinstance(value, Missing):
        return value.lack
    if isinstance(value, str):
        raw = value.encode()
        return dmidecode.printed(raw if raw in strings else value.encode("latin-1", "replace"))
    return value


def ours(structure: Structure, version: tuple[int, int]) -> dict[str, object]:
    """Our record under the names that `LABELS` uses."""
    record = decode_structure(structure, version)
    extra: dict[str, object] = {}
    if isinstance(record, BiosRecord):
        parts = (record.characteristics, record.extension_1, record.extension_2)
        lists = [part for part in parts if not isinstance(part, Missing)]
        extra = {"all_characteristics": tuple(one for part in lists for one in part)}
    elif isinstance(record, ChassisRecord):
        elements = record.contained_elements
        if not isinstance(elements, Missing):
            extra = {"element_count": len(elements)}
    elif isinstance(record, MemoryDeviceRecord):
        lines = {"type_detail": record.type_detail, "operating_modes": record.operating_modes}
        extra = {
            name: words if isinstance(words, Missing) else " ".join(words)
            for name, words in lines.items()
        }
    names = {name for name, _ in LABELS[structure.type].values()}
    told = {name: getattr(record, name) for name in names if hasattr(record, name)} | extra
    return {name: comparable(value, structure.strings) for name, value in told.items()}


def theirs(printed: dmidecode.PrintedStructure) -> dict[str, object]:
    """What dmidecode printed, under the same names."""
    labels = LABELS[printed.type]
    values = {
        labels[label][0]: labels[label][1](value, printed.lists.get(label, ()))
        for label, value in printed.texts.items()
    }
    if "all_characteristics" in values:
        lines = printed.lists.get("Characteristics", ())
        values["all_characteristics"] = tuple(NAMED_BY_MAKER.get(line, line) for line in lines)
    return values


def may_be_silent(structure: Structure, label: str, value: object) -> bool:
    """Whether dmidecode leaves this label out with good reason."""
    labels = list(LABELS[structure.type])
    if value is Lack.TOO_SHORT or (LABELS[structure.type][label][0], value) in SILENT_WITHOUT_VALUE:
        return True
    is_device = structure.type == 17
    of_module = is_device and labels.index(label) >= labels.index(FIRST_LABEL_OF_MODULE)
    return of_module and structure.formatted[0x0C:0x0E] == bytes(2)


def count_equal_fields(
    structure: Structure, printed: dmidecode.PrintedStructure, version: tuple[int, int]
) -> int:
    """How many fields agree; fails where one differs or is missing on either side."""
    found, expected = ours(structure, version), theirs(printed)
    for label, (name, _) in LABELS[structure.type].items():
        if name in found and name not in expected:
            assert may_be_silent(structure, label, found[name]), (structure.handle, label)
            del found[name]
    assert found == expected, structure.handle
    return len(found)


def count_equal_strings(structure: Structure, printed: dmidecode.PrintedStructure) -> int:
    """OEM strings, number by number."""
    record = decode_oem_strings(structure)
    assert not isinstance(record.strings, Missing)
    found = [comparable(string, structure.strings) for string in record.strings]
    expected = [text(printed.texts[f"String {at}"], ()) for at in range(1, 1 + len(found))]
    assert found == expected
    assert len(printed.texts) == len(found)
    return len(found)


def count_equal(raw: bytes, output: str) -> int:
    """Holds a dump against dmidecode's text; how many fields agree."""
    table, version = decode_dump(raw)
    structures = dmidecode.parse_dmidecode(output)
    counts = Counter(structure.type for structure in table.structures)
    assert counts == Counter(structure.type for structure in structures)
    total = 0
    for structure, printed in zip(table.structures, structures, strict=True):
        assert structure.handle == printed.handle
        if structure.type == 11:
            total += count_equal_strings(structure, printed)
        elif structure.type in LABELS:
            assert structure.length == printed.length
            total += count_equal_fields(structure, printed, version)
    return total


@pytest.mark.parametrize(("name", "fields"), DUMPS.items())
def test_counts_and_fields_equal_dmidecode(test_data: Path, name: str, fields: int) -> None:
    if reason := dmidecode.reason_to_skip():
        pytest.skip(reason)
    dump = test_data / "smbios" / f"{name}.dump"
    assert count_equal(dump.read_bytes(), dmidecode.run_dmidecode(dump)) == fields


@pytest.mark.parametrize(("name", "fields"), DUMPS.items())
def test_counts_and_fields_equal_the_text_beside(test_data: Path, name: str, fields: int) -> None:
    dump = test_data / "smbios" / f"{name}.dump"
    output = dump.with_suffix(".txt").read_text(encoding="latin-1")
    assert count_equal(dump.read_bytes(), output) == fields


def test_built_table_equals_dmidecode(tmp_path: Path) -> None:
    """Fields that the ten machines do not have: FFFFh speeds, KiB sizes, large ROM, elements."""
    if reason := dmidecode.reason_to_skip():
        pytest.skip(reason)
    table = smbios.build_table(
        [
            smbios.bios(vendor="v\xe9", rom_size=0xFF, extended_rom_size=0x4002, release=(1, 254)),
            smbios.system(serial=" s ", uuid=bytes(range(16)), wake_up=9),
            smbios.board(features=0x1F, location="slot", contained=(7, 8), board_type=1),
            smbios.chassis(chassis_type=0x9F, elements=((0x84, 1, 2), (0x0A, 0, 1)), sku="sku"),
            smbios.oem_strings([b"a", b"b\x01"], count=3),
            smbios.memory_array(capacity_kib=0x80000000, extended_bytes=1 << 42),
            smbios.memory_device(speed=0xFFFF, configured_speed=0xFFFF, extended_speeds=(70000, 0)),
            smbios.memory_device(size=0x8200, widths=(0xFFFF, 0xFFFF), millivolts=(0, 1350, 1100)),
            smbios.memory_device(size=0x7FFF, extended_size=0x20000, attributes=0, detail=0x4080),
            smbios.memory_device(size=0xFFFF, form_factor=0x55, memory_type=2, detail=0),
            smbios.memory_device(size=0, locator="DIMM 3"),
            smbios.hardware_security(0b01_10_11_00),
            smbios.end_of_table(),
        ]
    )
    dump = tmp_path / "built.dump"
    dump.write_bytes(smbios.build_dump((3, 3), table))
    assert count_equal(dump.read_bytes(), dmidecode.run_dmidecode(dump)) == 191
