"""What dmidecode and udevadm say of the unit's identity and memory, beside what is shown."""

import re
from collections.abc import Iterator, Mapping
from typing import Final

from notebook.opinions import ToolOutput
from notebook.parsed_text import chosen
from notebook.parsed_udev import attributes_by_place
from notebook.shown import Claim, Shown, Unread
from oracles.dmidecode import PrintedStructure, parse_dmidecode

TOOL: Final = "dmidecode"
SIZES: Final = {"kB": 1 << 10, "MB": 1 << 20, "GB": 1 << 30, "TB": 1 << 40}
NOT_SPECIFIED: Final = "Not Specified"
UNKNOWN: Final = "Unknown"
EMPTY_SOCKET: Final = "No Module Installed"
REFUSED: Final = "Permission denied"
FAULTS: Final = ("<BAD INDEX>", "TRUNCATED", "Wrong DMI", "Invalid entry length")
"""Words that dmidecode prints of a faulty table."""

BIOS: Final = {
    "Vendor": "vendor",
    "Version": "version",
    "Release Date": "date",
    "BIOS Revision": "release",
    "Firmware Revision": "ec_release",
}
SYSTEM: Final = {
    "Manufacturer": "manufacturer",
    "Product Name": "product",
    "Version": "version",
    "Serial Number": "serial",
    "UUID": "uuid",
    "SKU Number": "sku",
    "Family": "family",
    "Wake-up Type": "wake_up",
}
BOARD: Final = {
    "Manufacturer": "manufacturer",
    "Product Name": "product",
    "Version": "version",
    "Serial Number": "serial",
    "Asset Tag": "asset_tag",
    "Location In Chassis": "location",
    "Type": "board_type",
}
CHASSIS: Final = {
    "Manufacturer": "manufacturer",
    "Type": "chassis_type",
    "Version": "version",
    "Serial Number": "serial",
    "Asset Tag": "asset_tag",
    "SKU Number": "sku",
    "Boot-up State": "boot_up_state",
    "Power Supply State": "power_supply_state",
    "Thermal State": "thermal_state",
    "Security Status": "security_status",
}
MODULE: Final = {
    "Locator": "locator",
    "Bank Locator": "bank_locator",
    "Form Factor": "form_factor",
    "Manufacturer": "manufacturer",
    "Part Number": "part_number",
    "Serial Number": "serial",
    "Asset Tag": "asset_tag",
}
ROOT_ONLY: Final = {
    "system": ("serial", "uuid", "wake_up"),
    "board": ("serial", "location", "board_type"),
    "chassis": ("serial", "sku", "boot_up_state"),
    "bios": ("rom_size_bytes", "uefi_capable"),
    "main_memory": ("installed_bytes", "fitted_modules"),
}
"""What stands only in the table, and in files that only root may read."""

FILES: Final = {
    "bios": {
        "bios_vendor": "vendor",
        "bios_version": "version",
        "bios_date": "date",
        "bios_release": "release",
        "ec_firmware_release": "ec_release",
    },
    "system": {
        "sys_vendor": "manufacturer",
        "product_name": "product",
        "product_version": "version",
        "product_serial": "serial",
        "product_uuid": "uuid",
        "product_sku": "sku",
        "product_family": "family",
    },
    "board": {
        "board_vendor": "manufacturer",
        "board_name": "product",
        "board_version": "version",
        "board_serial": "serial",
        "board_asset_tag": "asset_tag",
    },
    "chassis": {
        "chassis_vendor": "manufacturer",
        "chassis_version": "version",
        "chassis_serial": "serial",
        "chassis_asset_tag": "asset_tag",
    },
}
"""The kernel's own view of the identity, file by file (Documentation/ABI/testing/sysfs-class-dmi)
without the chassis type, a number there."""


def dmidecode_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """SMBIOS types 0, 1, 2, 3, 11, 16, 17 and 22, or that the table was refused."""
    text = outputs[TOOL].text
    if REFUSED in text:
        yield from _refused(shown)
        return
    structures = parse_dmidecode(text)
    first = {structure.type: structure for structure in reversed(structures)}
    yield from shown.only("bios").claims(TOOL, _bios(first[0]))
    for kind, number, names in (
        ("system", 1, SYSTEM),
        ("board", 2, BOARD),
        ("chassis", 3, CHASSIS),
    ):
        yield from shown.only(kind).claims(TOOL, _told(first[number], names))
    yield from _oem_strings(shown, [one for one in structures if one.type == 11])
    yield from _memory(shown, first[16], [one for one in structures if one.type == 17])
    for index, pack in enumerate(one for one in structures if one.type == 22):
        yield from shown.at("battery", index).claims(TOOL, _pack(pack))
    faults = tuple(word for word in FAULTS if word in text)
    yield from shown.only("identity_views").claims(TOOL, {"table_faults": faults})


def udevadm_identity_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """The files of the kernel's DMI class, and whether they tell the same as dmidecode."""
    tool = "udevadm-attributes"
    files = attributes_by_place(outputs[tool])["/devices/virtual/dmi/id"]
    table = {
        (claim.kind, claim.attribute): claim.told for claim in dmidecode_claims(shown, outputs)
    }
    differing: list[str] = []
    for kind, names in FILES.items():
        told = chosen(files, names)
        differing += [name for name, value in told.items() if table[kind, name] != value]
        yield from shown.only(kind).claims(tool, told)
    yield from shown.only("identity_views").claims(tool, {"disagreements": tuple(differing)})


def bytes_of(size: str) -> int:
    """The bytes of `8 GB` as dmidecode means it: 1024 of each step."""
    number, unit = size.split()
    return int(number) * SIZES[unit]


def _refused(shown: Shown) -> Iterator[Claim]:
    for kind, attributes in ROOT_ONLY.items():
        told = dict.fromkeys(attributes, Unread("EACCES"))
        yield from shown.only(kind).claims(TOOL, told)


def _told(structure: PrintedStructure, names: Mapping[str, str]) -> dict[str, object]:
    told = chosen(structure.texts, names)
    return {name: "" if value == NOT_SPECIFIED else value for name, value in told.items()}


def _bios(structure: PrintedStructure) -> dict[str, object]:
    characteristics = structure.lists["Characteristics"]
    return _told(structure, BIOS) | {
        "rom_size_bytes": bytes_of(structure.texts["ROM Size"]),
        "uefi_capable": "UEFI is supported" in characteristics,
    }


def _oem_strings(shown: Shown, structures: list[PrintedStructure]) -> Iterator[Claim]:
    yield shown.how_many(TOOL, "oem_strings", len(structures))
    for index, structure in enumerate(structures):
        told = {"strings": tuple(structure.texts.values())}
        yield from shown.at("oem_strings", index).claims(TOOL, told)


def _memory(
    shown: Shown, array: PrintedStructure, modules: list[PrintedStructure]
) -> Iterator[Claim]:
    yield shown.how_many(TOOL, "memory_module", int(array.texts["Number Of Devices"]))
    for index, module in enumerate(modules):
        yield from shown.at("memory_module", index).claims(TOOL, _module(module))
    sizes = [one.texts["Size"] for one in modules if one.texts["Size"] != EMPTY_SOCKET]
    told = {"installed_bytes": sum(map(bytes_of, sizes)), "fitted_modules": len(sizes)}
    yield from shown.only("main_memory").claims(TOOL, told)


def _module(structure: PrintedStructure) -> dict[str, object]:
    texts = structure.texts
    fitted = texts["Size"] != EMPTY_SOCKET
    told = _told(structure, MODULE) | {
        "fitted": fitted,
        "size_bytes": bytes_of(texts["Size"]) if fitted else None,
        "memory_type": None if texts["Type"] == UNKNOWN else texts["Type"],
    }
    for label, name in (
        ("Speed", "speed_mts"),
        ("Configured Memory Speed", "configured_speed_mts"),
    ):
        if label in texts:
            told[name] = _number(texts[label], "MT/s")
    return told


def _pack(structure: PrintedStructure) -> dict[str, object]:
    """Capacity and voltage in thousandths of what the kernel counts in."""
    texts = structure.texts
    return {
        "manufacturer": texts["Manufacturer"],
        "model": texts["Name"],
        "energy_full_design_uwh": _number(texts["Design Capacity"], "mWh") * 1000,
        "voltage_min_design_uv": _number(texts["Design Voltage"], "mV") * 1000,
    }


def _number(text: str, unit: str) -> int:
    found = re.fullmatch(rf"(\d+) {unit}", text)
    assert found, text
    return int(found[1])
