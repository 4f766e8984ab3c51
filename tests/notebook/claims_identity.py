"""What dmidecode and udevadm say of the unit's identity, beside what is shown."""

from collections.abc import Iterator, Mapping
from typing import Final

from notebook.claims_memory import TOOL, memory_claims, number_of, password_claims, size_of, told_by
from notebook.opinions import ToolOutput
from notebook.parsed_text import chosen
from notebook.parsed_udev import attributes_by_place
from notebook.shown import Claim, Shown, Unread
from oracles.dmidecode import PrintedStructure, parse_dmidecode

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
ROOT_ONLY: Final = {
    "system": ("serial", "uuid", "wake_up"),
    "board": ("serial", "location", "board_type"),
    "chassis": ("serial", "sku", "boot_up_state"),
    "bios": ("rom_size_bytes", "uefi_capable"),
    "main_memory": ("slots", "maximum_bytes", "location", "error_correction", "channels"),
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
    """SMBIOS types 0, 1, 2, 3, 11, 16, 17, 22, 24 and 37, or that the table was refused."""
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
        yield from shown.only(kind).claims(TOOL, told_by(first[number], names))
    yield from _oem_strings(shown, [one for one in structures if one.type == 11])
    yield from memory_claims(shown, structures)
    yield from password_claims(shown, structures)
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


def _refused(shown: Shown) -> Iterator[Claim]:
    for kind, attributes in ROOT_ONLY.items():
        told = dict.fromkeys(attributes, Unread("EACCES"))
        yield from shown.only(kind).claims(TOOL, told)


def _bios(structure: PrintedStructure) -> dict[str, object]:
    characteristics = structure.lists["Characteristics"]
    return told_by(structure, BIOS) | {
        "rom_size_bytes": size_of(structure.texts["ROM Size"]),
        "uefi_capable": "UEFI is supported" in characteristics,
    }


def _oem_strings(shown: Shown, structures: list[PrintedStructure]) -> Iterator[Claim]:
    yield shown.how_many(TOOL, "oem_strings", len(structures))
    for index, structure in enumerate(structures):
        told = {"strings": tuple(structure.texts.values())}
        yield from shown.at("oem_strings", index).claims(TOOL, told)


def _pack(structure: PrintedStructure) -> dict[str, object]:
    """Capacity and voltage in thousandths of what the kernel counts in."""
    texts = structure.texts
    return {
        "manufacturer": texts["Manufacturer"],
        "model": texts["Name"],
        "energy_full_design_uwh": number_of(texts["Design Capacity"], "mWh") * 1000,
        "voltage_min_design_uv": number_of(texts["Design Voltage"], "mV") * 1000,
    }
