"""A unit of an invented maker drawn in both views of its identity, and its devices as read."""

import errno
import uuid
from collections.abc import Mapping

from closeout.model.identity import Bios, Board, Chassis, IdentityViews, System
from closeout.model.inventory import Section
from closeout.model.reading import Value
from closeout.readers.identity import READERS
from strategies import smbios
from strategies.drawn_tree import Content, DrawnTree

TABLE = "sys/firmware/dmi/tables/DMI"
ENTRY_POINT = "sys/firmware/dmi/tables/smbios_entry_point"
DMI_ID = "sys/class/dmi/id"
SECRETS = ("product_serial", "product_uuid", "board_serial", "chassis_serial")
UUID = uuid.UUID("8f2d1c3e-5b6a-4d79-9e01-c3a5f7b9d2e4")

SOUND = (
    smbios.bios(
        vendor="Orlune Firmware",
        version="VK14.07",
        date="03/11/2024",
        release=(1, 7),
        ec_release=(2, 30),
    ),
    smbios.system(
        manufacturer="Orlune",
        product="Vekta 14",
        version="B2",
        serial="ORV7K2M9Q4",
        uuid=UUID.bytes_le,
        sku="VK14-5518",
        family="Vekta",
    ),
    smbios.board(
        manufacturer="Orlune",
        product="VKB-14",
        version="R1.3",
        serial="OB83LQ57XW",
        asset_tag="BT-4471",
        location="Under keyboard",
    ),
    smbios.chassis(
        manufacturer="Orlune", version="C1", serial="OC29TR48ZN", asset_tag="DESK-118", sku="CS-14"
    ),
    smbios.oem_strings([b"Orlune build 7  ", b"   ", b"line 4"]),
    smbios.end_of_table(),
)
FILES = {
    "bios_vendor": "Orlune Firmware",
    "bios_version": "VK14.07",
    "bios_date": "03/11/2024",
    "bios_release": "1.7",
    "ec_firmware_release": "2.30",
    "sys_vendor": "Orlune",
    "product_name": "Vekta 14",
    "product_version": "B2",
    "product_serial": "ORV7K2M9Q4",
    "product_uuid": str(UUID),
    "product_sku": "VK14-5518",
    "product_family": "Vekta",
    "board_vendor": "Orlune",
    "board_name": "VKB-14",
    "board_version": "R1.3",
    "board_serial": "OB83LQ57XW",
    "board_asset_tag": "BT-4471",
    "chassis_vendor": "Orlune",
    "chassis_type": "10",
    "chassis_version": "C1",
    "chassis_serial": "OC29TR48ZN",
    "chassis_asset_tag": "DESK-118",
}


def tables(*structures: bytes, version: tuple[int, int] = (3, 4)) -> dict[str, Content]:
    table = smbios.build_table(structures)
    return {TABLE: table, ENTRY_POINT: smbios.build_entry_point(version, len(table), 0x7A0000)}


def kernel_files(texts: Mapping[str, str]) -> dict[str, Content]:
    return {f"{DMI_ID}/{name}": f"{text}\n".encode() for name, text in texts.items()}


def without(texts: Mapping[str, str], *names: str) -> dict[str, str]:
    return {name: text for name, text in texts.items() if name not in names}


def as_root() -> DrawnTree:
    return DrawnTree(files=tables(*SOUND) | kernel_files(FILES))


def as_user() -> DrawnTree:
    """The kernel's modes: raw tables, serials and UUID are 0400, the rest 0444."""
    closed: dict[str, Content] = {f"{DMI_ID}/{name}": errno.EACCES for name in SECRETS}
    closed |= {TABLE: errno.EACCES, ENTRY_POINT: errno.EACCES}
    return DrawnTree(files=kernel_files(FILES) | closed)


def read_section(tree: DrawnTree, kind: str) -> Section:
    reader = next(reader for reader in READERS if reader.kind == kind)
    listing = reader.find(tree)
    places = listing.value if isinstance(listing, Value) else ()
    devices = tuple(reader.read(tree, place) for place in places)
    return Section(kind=kind, listing=listing, devices=devices)


def system_of(tree: DrawnTree) -> System:
    device = read_section(tree, "system").devices[0]
    assert isinstance(device, System)
    return device


def board_of(tree: DrawnTree) -> Board:
    device = read_section(tree, "board").devices[0]
    assert isinstance(device, Board)
    return device


def chassis_of(tree: DrawnTree, index: int = 0) -> Chassis:
    device = read_section(tree, "chassis").devices[index]
    assert isinstance(device, Chassis)
    return device


def bios_of(tree: DrawnTree) -> Bios:
    device = read_section(tree, "bios").devices[0]
    assert isinstance(device, Bios)
    return device


def views_of(tree: DrawnTree) -> IdentityViews:
    device = read_section(tree, "identity_views").devices[0]
    assert isinstance(device, IdentityViews)
    return device
