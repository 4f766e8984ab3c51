"""Which field of the raw table and which file of `sys/class/dmi/id` tell the same text.

The files are made in drivers/firmware/dmi-id.c out of what dmi_scan.c kept of the table.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final, Generic, TypeVar

from closeout.decode.smbios_bios import BiosRecord
from closeout.decode.smbios_chassis import ChassisRecord
from closeout.decode.smbios_fields import Field
from closeout.decode.smbios_identity import BoardRecord, SystemRecord
from closeout.model.frozen import frozen

R = TypeVar("R")

DMI_ID: Final = "sys/class/dmi/id"
UUID_FILE: Final = "product_uuid"
CHASSIS_TYPE_FILE: Final = "chassis_type"


@frozen
class Spot(Generic[R]):
    """One text: how a record tells it, its name for the filler rules, its file in sysfs.

    `field` is empty where the filler rules do not apply, `file` where the kernel shows none.
    """

    get: Callable[[R], Field[str]]
    field: str
    file: str


SYSTEM: Final[Mapping[str, Spot[SystemRecord]]] = {
    "manufacturer": Spot(
        get=lambda system: system.manufacturer, field="System/Manufacturer", file="sys_vendor"
    ),
    "product": Spot(
        get=lambda system: system.product, field="System/Product Name", file="product_name"
    ),
    "version": Spot(
        get=lambda system: system.version, field="System/Version", file="product_version"
    ),
    "serial": Spot(
        get=lambda system: system.serial, field="System/Serial Number", file="product_serial"
    ),
    "sku": Spot(get=lambda system: system.sku, field="System/SKU Number", file="product_sku"),
    "family": Spot(get=lambda system: system.family, field="System/Family", file="product_family"),
    "uuid": Spot(get=lambda system: system.uuid, field="System/UUID", file=UUID_FILE),
    "wake_up": Spot(get=lambda system: system.wake_up, field="", file=""),
}

BOARD: Final[Mapping[str, Spot[BoardRecord]]] = {
    "manufacturer": Spot(
        get=lambda board: board.manufacturer, field="BaseBoard/Manufacturer", file="board_vendor"
    ),
    "product": Spot(
        get=lambda board: board.product, field="BaseBoard/Product Name", file="board_name"
    ),
    "version": Spot(
        get=lambda board: board.version, field="BaseBoard/Version", file="board_version"
    ),
    "serial": Spot(
        get=lambda board: board.serial, field="BaseBoard/Serial Number", file="board_serial"
    ),
    "asset_tag": Spot(
        get=lambda board: board.asset_tag, field="BaseBoard/Asset Tag", file="board_asset_tag"
    ),
    "location": Spot(
        get=lambda board: board.location, field="BaseBoard/Location In Chassis", file=""
    ),
    "board_type": Spot(get=lambda board: board.board_type, field="", file=""),
}

CHASSIS: Final[Mapping[str, Spot[ChassisRecord]]] = {
    "manufacturer": Spot(
        get=lambda chassis: chassis.manufacturer,
        field="Chassis/Manufacturer",
        file="chassis_vendor",
    ),
    "chassis_type": Spot(
        get=lambda chassis: chassis.chassis_type, field="", file=CHASSIS_TYPE_FILE
    ),
    "version": Spot(
        get=lambda chassis: chassis.version, field="Chassis/Version", file="chassis_version"
    ),
    "serial": Spot(
        get=lambda chassis: chassis.serial, field="Chassis/Serial Number", file="chassis_serial"
    ),
    "asset_tag": Spot(
        get=lambda chassis: chassis.asset_tag,
        field="Chassis/Asset Tag",
        file="chassis_asset_tag",
    ),
    "sku": Spot(get=lambda chassis: chassis.sku, field="Chassis/SKU Number", file=""),
    "boot_up_state": Spot(get=lambda chassis: chassis.boot_up_state, field="", file=""),
    "power_supply_state": Spot(get=lambda chassis: chassis.power_supply_state, field="", file=""),
    "thermal_state": Spot(get=lambda chassis: chassis.thermal_state, field="", file=""),
    "security_status": Spot(get=lambda chassis: chassis.security_status, field="", file=""),
}

BIOS: Final[Mapping[str, Spot[BiosRecord]]] = {
    "vendor": Spot(get=lambda bios: bios.vendor, field="BIOS/Vendor", file="bios_vendor"),
    "version": Spot(get=lambda bios: bios.version, field="BIOS/Version", file="bios_version"),
    "date": Spot(get=lambda bios: bios.date, field="BIOS/Release Date", file="bios_date"),
    "release": Spot(get=lambda bios: bios.release, field="", file="bios_release"),
    "ec_release": Spot(get=lambda bios: bios.ec_release, field="", file="ec_firmware_release"),
}


def files_of(spots: Mapping[str, Spot[R]]) -> frozenset[str]:
    """The files of `sys/class/dmi/id` that tell of these."""
    return frozenset(spot.file for spot in spots.values() if spot.file)
