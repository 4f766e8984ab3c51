"""The unit's identity as its firmware tells it: SMBIOS types 0, 1, 2, 3 and 11 (DMTF DSP0134)."""

from __future__ import annotations

from closeout.model.attribute import Shape, about
from closeout.model.device import Device
from closeout.model.frozen import field, frozen
from closeout.model.reading import Reading


@frozen
class Bios(Device):
    """Firmware as type 0 names it; `ec_release` is the embedded controller's."""

    vendor: Reading[str] = field(metadata=about("maker of the system firmware"))
    version: Reading[str] = field(metadata=about("version of the system firmware", Shape.VERSION))
    date: Reading[str] = field(metadata=about("release date of the system firmware"))
    release: Reading[str] = field(
        metadata=about("system firmware release, major.minor", Shape.VERSION)
    )
    ec_release: Reading[str] = field(
        metadata=about("embedded controller firmware release, major.minor", Shape.VERSION)
    )
    rom_size_bytes: Reading[int] = field(
        metadata=about("size of the firmware's flash part", Shape.INTEGER, unit="B")
    )
    uefi_capable: Reading[bool] = field(
        metadata=about("the table says that UEFI is supported", Shape.FLAG)
    )


@frozen
class System(Device):
    """The unit as a product: type 1."""

    manufacturer: Reading[str] = field(metadata=about("maker of the unit"))
    product: Reading[str] = field(metadata=about("product name of the unit"))
    version: Reading[str] = field(metadata=about("product version of the unit"))
    serial: Reading[str] = field(metadata=about("serial number of the unit", personal=True))
    uuid: Reading[str] = field(
        metadata=about("UUID of the unit in RFC 9562 text form, lower case", personal=True)
    )
    sku: Reading[str] = field(metadata=about("stock keeping unit (order number) of the unit"))
    family: Reading[str] = field(metadata=about("product family of the unit"))
    wake_up: Reading[str] = field(metadata=about("what started the unit"))


@frozen
class Board(Device):
    """The system board: type 2; the first one with the motherboard feature, or the first."""

    manufacturer: Reading[str] = field(metadata=about("maker of the system board"))
    product: Reading[str] = field(metadata=about("product name of the system board"))
    version: Reading[str] = field(metadata=about("version of the system board"))
    serial: Reading[str] = field(metadata=about("serial number of the system board", personal=True))
    asset_tag: Reading[str] = field(metadata=about("asset tag of the system board", personal=True))
    location: Reading[str] = field(metadata=about("where the system board sits in the chassis"))
    board_type: Reading[str] = field(metadata=about("what kind of board the table calls it"))


@frozen
class Chassis(Device):
    """The enclosure: type 3; docks show up as a second one."""

    manufacturer: Reading[str] = field(metadata=about("maker of the chassis"))
    chassis_type: Reading[str] = field(metadata=about("kind of chassis: Notebook, Laptop ..."))
    version: Reading[str] = field(metadata=about("version of the chassis"))
    serial: Reading[str] = field(metadata=about("serial number of the chassis", personal=True))
    asset_tag: Reading[str] = field(metadata=about("asset tag of the unit", personal=True))
    sku: Reading[str] = field(metadata=about("stock keeping unit of the chassis"))
    boot_up_state: Reading[str] = field(metadata=about("state of the chassis at the last start"))
    power_supply_state: Reading[str] = field(metadata=about("state of the power supply at start"))
    thermal_state: Reading[str] = field(metadata=about("thermal state at the last start"))
    security_status: Reading[str] = field(metadata=about("physical security status at start"))


@frozen
class OemStrings(Device):
    """The maker's own strings: type 11."""

    strings: Reading[tuple[str, ...]] = field(
        metadata=about("strings that the maker left in the table", Shape.TEXTS, personal=True)
    )


@frozen
class IdentityViews(Device):
    """The two views of the identity, raw table and `/sys/class/dmi/id`, held side by side."""

    disagreements: Reading[tuple[str, ...]] = field(
        metadata=about("fields whose two views differ", Shape.TEXTS, personal=True)
    )
    table_faults: Reading[tuple[str, ...]] = field(
        metadata=about("what is wrong with the raw table, with offsets", Shape.TEXTS)
    )
