"""Supplies of the kernel class power_supply by type, and their properties.

Kernel path: `sys/class/power_supply/*` (Documentation/ABI/testing/sysfs-class-power). Each
property is a file. Where a folder has no `type` file, which every supply of a running kernel
has, the folder was not copied whole, and its `uevent` file, if it is there, speaks instead.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, TypeAlias

from closeout.decode.uevent import decode_uevent
from closeout.kernel.tree import KernelTree
from closeout.model.frozen import frozen
from closeout.model.inventory import Listing
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Absent, Reading, Unreadable, Value, convert
from closeout.readers.attributes import list_folder, read_bytes, read_text
from closeout.readers.places import USB_DEVICE, locate

CLASS: Final = "sys/class/power_supply"
OF_A_PERIPHERAL: Final = "Device"
"""The `scope` of packs that feed a mouse or a pen and not the unit."""

NOT_TOLD: Final = "Unknown"
OUTSIDE_BY_TYPE: Final = "UPS"
CARRIERS: Final = (
    (USB_DEVICE, "a USB device"),
    (late_pattern(r"[0-9A-F]{4}:[0-9A-F]{4}:[0-9A-F]{4}\.[0-9A-F]{4,}"), "an input device (HID)"),
    (late_pattern(r"hci\d+"), "a Bluetooth radio"),
)
"""Folders on the way to a pack that say that it comes and goes with something else: bus names of
USB (Documentation/ABI/stable/sysfs-bus-usb), of HID (hid_add_device, drivers/hid/hid-core.c) and
of Bluetooth. The unit's own packs are on ACPI, I2C or the platform bus."""

Tell: TypeAlias = Callable[[str], Reading[str]]
"""What a supply tells under the name of a property: `energy_full`."""


@frozen
class Supply:
    """One supply: where it is, its type, and its scope, empty where it has none."""

    place: str
    supply_type: str
    scope: str


def explain_peripheral(supply: Supply) -> str | None:
    """What tells that a supply belongs to something outside; None for one of the unit itself."""
    if supply.scope == OF_A_PERIPHERAL:
        return "the kernel says that its scope is a device"
    if supply.supply_type == OUTSIDE_BY_TYPE:
        return "the kernel calls it a UPS"
    parts = supply.place.split("/")
    for form, carrier in CARRIERS:
        for part in parts:
            if form.fullmatch(part):
                return f"it sits on {carrier}, {part}"
    return None


def find_supplies(tree: KernelTree, is_wanted: Callable[[Supply], bool]) -> Listing:
    """The places of the supplies that are wanted.

    A supply that does not tell what it is makes the listing unreadable: it may be a pack.
    """
    listing = list_folder(tree, CLASS)
    if not isinstance(listing, Value):
        return listing
    places: list[str] = []
    for name in listing.value:
        place = locate(tree, f"{CLASS}/{name}")
        tell = ask_supply(tree, place)
        supply_type, scope = tell("type"), tell("scope")
        if not isinstance(supply_type, Value):
            return _untold(supply_type)
        if isinstance(scope, Unreadable):
            return scope
        supply = Supply(
            place=place,
            supply_type=supply_type.value,
            scope=scope.value if isinstance(scope, Value) else "",
        )
        if is_wanted(supply):
            places.append(place)
    return Value(value=tuple(places), sources=listing.sources)


def ask_supply(tree: KernelTree, place: str) -> Tell:
    """How to ask the supply at a place for its properties: by file, else by its uevent."""
    supply_type = read_text(tree, f"{place}/type")
    uevent = read_bytes(tree, f"{place}/uevent") if isinstance(supply_type, Absent) else None
    if not isinstance(uevent, Value):
        return lambda name: read_text(tree, f"{place}/{name}")
    properties = convert(uevent, decode_uevent)

    def tell(name: str) -> Reading[str]:
        key = f"POWER_SUPPLY_{name.upper()}"
        if isinstance(properties, Value) and key in properties.value:
            return Value(value=properties.value[key].rstrip(), sources=properties.sources)
        return Absent(reason="the supply's uevent does not name it", sources=uevent.sources)

    return tell


def leave_out_unknown(text: Reading[str]) -> Reading[str]:
    """The kernel's word Unknown as what it is: nothing is told."""
    if isinstance(text, Value) and text.value == NOT_TOLD:
        return Absent(reason="the kernel calls it Unknown", sources=text.sources)
    return text


def _untold(supply_type: Reading[str]) -> Unreadable:
    if isinstance(supply_type, Unreadable):
        return supply_type
    return Unreadable(
        error="MALFORMED",
        advice="a power supply does not tell its type; read again",
        sources=supply_type.sources,
    )
