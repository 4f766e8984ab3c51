"""What the buses of input devices show, with a driver or without: I2C, HID and PS/2.

Kernel paths: `sys/bus/{i2c,hid,serio,acpi}/devices/*` with `driver`, `modalias`, `name`,
`uevent`, `report_descriptor`, and which drivers are loaded, `sys/bus/{i2c,serio}/drivers`.

An I2C device is of interest where its modalias has the id that the HID over I2C Protocol
Specification (version 1.0, chapter 13, ACPI) gives to all of them, PNP0C50, or the compatible
string hid-over-i2c (Documentation/devicetree/bindings/input/hid-over-i2c.yaml). Firmware names
it, so it is listed with its ribbon out too: the driver then finds nothing at its address
(drivers/hid/i2c-hid/i2c-hid-core.c) and is not bound. A device that only the ACPI bus shows has
no I2C controller with a driver above it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from typing import Final

from closeout.decode.failure import DecodeError
from closeout.decode.report_descriptor import find_collections, name_purposes
from closeout.decode.uevent import decode_uevent
from closeout.kernel.tree import KernelTree
from closeout.model.device import Position
from closeout.model.input import InputBusDevice
from closeout.model.inventory import Listing
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Absent, Reading, Unreadable, Value, convert
from closeout.readers.attributes import (
    list_class,
    list_folder,
    not_understood,
    read_bytes,
    read_integer,
    read_link_name,
    read_text,
)
from closeout.readers.first_told import first_told
from closeout.readers.input_abilities import BUSES as BUS_WORDS
from closeout.readers.input_abilities import place_by_bus
from closeout.readers.places import label_of, locate, read_position
from closeout.readers.radio import read_driver
from closeout.readers.reader import Reader

BUSES: Final = ("i2c", "hid", "serio")
ADAPTER: Final = late_pattern(r"i2c-\d+")
NAMELESS: Final = late_pattern(r"(device|LNX[A-Z]+):")
"""ACPI devices that firmware gives no id, and those that the kernel makes up."""
HID_OVER_I2C: Final = late_pattern(r"acpi:(?:[^:]*:)*?(?:PNP|ACPI)0C50:|of:.*Chid-over-i2c(?:C|$)")
PRESENT_BIT: Final = 1
I2C_DRIVER: Final = late_pattern(r"i2c_hid.*")
SERIO_DRIVERS: Final = {"06": "atkbd", "01": "psmouse"}
"""Kind of PS/2 port (include/uapi/linux/serio.h: 06 translated keyboard, 01 plain) to the driver
of what is behind it."""
SERIO_PURPOSES: Final = {"06": ("keyboard",), "01": ("touchpad", "pointing_stick", "mouse")}
I2C_PURPOSES: Final = ("touchpad", "touchscreen", "pen")


def find_bus_devices(tree: KernelTree) -> Listing:
    """The places of HID over I2C, HID and PS/2 devices, and of those that ACPI alone names."""
    places: dict[str, None] = {}
    sources: tuple[str, ...] = ()
    for bus in BUSES:
        listing = _list_bus(tree, bus)
        if not isinstance(listing, Value):
            return listing
        sources += listing.sources
        for name in listing.value:
            place = locate(tree, f"sys/bus/{bus}/devices/{name}")
            if bus != "i2c" or _is_hid_over_i2c(tree, place, name):
                places[place] = None
    orphans = _find_orphans(tree)
    if isinstance(orphans, Unreadable):
        return orphans
    if isinstance(orphans, Value):
        places |= dict.fromkeys(orphans.value)
        sources += orphans.sources
    return Value(value=tuple(places), sources=sources)


def _list_bus(tree: KernelTree, bus: str) -> Listing:
    """The devices of a bus; a bus that the kernel has no driver for has none."""
    folder = list_class(tree, f"sys/bus/{bus}")
    if not (isinstance(folder, Value) and folder.value):
        return folder
    return list_folder(tree, f"sys/bus/{bus}/devices")


def _is_hid_over_i2c(tree: KernelTree, place: str, name: str) -> bool:
    if ADAPTER.fullmatch(name):
        return False
    modalias = read_text(tree, f"{place}/modalias")
    return isinstance(modalias, Value) and bool(HID_OVER_I2C.match(modalias.value))


def _find_orphans(tree: KernelTree) -> Listing:
    """HID over I2C in the ACPI tables, said to be present, and no device made of it."""
    listing = list_folder(tree, "sys/bus/acpi/devices")
    if not isinstance(listing, Value):
        return listing
    named = (name for name in listing.value if not NAMELESS.match(name))
    places = (locate(tree, f"sys/bus/acpi/devices/{name}") for name in named)
    return Value(
        value=tuple(place for place in places if _is_orphan(tree, place)), sources=listing.sources
    )


def _is_orphan(tree: KernelTree, place: str) -> bool:
    if not _is_hid_over_i2c(tree, place, label_of(place)):
        return False
    status = read_integer(tree, f"{place}/status")
    is_there = not isinstance(status, Value) or bool(status.value & PRESENT_BIT)
    return is_there and not isinstance(read_link_name(tree, f"{place}/physical_node"), Value)


def read_bus_device(tree: KernelTree, place: str) -> InputBusDevice:
    """One device with its driver and what it is for."""
    bus = read_link_name(tree, f"{place}/subsystem")
    driver = read_driver(tree, place)
    return InputBusDevice(
        place=place,
        label=label_of(place),
        position=_position(tree, place),
        bus=bus,
        name=_read_name(tree, place),
        driver=driver,
        silent=_read_silence(tree, place, bus, driver),
        purposes=_read_purposes(tree, place, bus),
    )


def _position(tree: KernelTree, place: str) -> Position:
    """Of a HID device by the bus in its name too."""
    number = label_of(place).split(":", 1)[0].lower()
    return place_by_bus(read_position(tree, place), BUS_WORDS.get(number, ""))


def _read_name(tree: KernelTree, place: str) -> Reading[str]:
    uevent = convert(read_bytes(tree, f"{place}/uevent"), decode_uevent)
    ways: tuple[Callable[[], Reading[str]], ...] = (
        lambda: _property(uevent, "HID_NAME"),
        lambda: read_text(tree, f"{place}/description"),
        lambda: read_text(tree, f"{place}/name"),
        lambda: read_text(tree, f"{place}/hid"),
    )
    return first_told(ways, "neither bus nor firmware names it")


def _property(uevent: Reading[Mapping[str, str]], key: str) -> Reading[str]:
    if isinstance(uevent, Value) and uevent.value.get(key):
        return Value(value=uevent.value[key], sources=uevent.sources)
    return Absent(reason=f"its uevent has no {key}", sources=uevent.sources)


def _read_silence(
    tree: KernelTree, place: str, bus: Reading[str], driver: Reading[str]
) -> Reading[bool]:
    """True where the driver for it is loaded and yet not bound; a HID device has answered."""
    if not isinstance(bus, Value):
        return bus
    if not isinstance(driver, Absent):
        return convert(driver, lambda _: False)
    wanted = _wanted_driver(tree, place, bus.value)
    if wanted is None:
        return Value(value=False, sources=(*bus.sources, *driver.sources))
    drivers = list_folder(tree, f"sys/bus/{bus.value}/drivers")
    return convert(drivers, lambda names: any(wanted.fullmatch(name) for name in names))


def _wanted_driver(tree: KernelTree, place: str, bus: str) -> re.Pattern[str] | None:
    if bus == "i2c":
        return I2C_DRIVER
    if bus == "serio":
        name = SERIO_DRIVERS.get(_serio_type(tree, place))
        return re.compile(name) if name else None
    return None


def _serio_type(tree: KernelTree, place: str) -> str:
    found = read_text(tree, f"{place}/id/type")
    return found.value if isinstance(found, Value) else ""


def _read_purposes(tree: KernelTree, place: str, bus: Reading[str]) -> Reading[tuple[str, ...]]:
    """By its report descriptor, by the kind of its port, or what HID over I2C mostly is."""
    if not isinstance(bus, Value):
        return bus
    if bus.value == "hid":
        return _read_descriptor(tree, f"{place}/report_descriptor")
    if bus.value == "serio":
        kind = read_text(tree, f"{place}/id/type")
        return convert(kind, lambda found: SERIO_PURPOSES.get(found, ()))
    return Value(value=I2C_PURPOSES, sources=bus.sources)


def _read_descriptor(tree: KernelTree, path: str) -> Reading[tuple[str, ...]]:
    raw = read_bytes(tree, path)
    if not isinstance(raw, Value):
        return raw
    try:
        return convert(raw, lambda content: name_purposes(find_collections(content)))
    except DecodeError as failure:
        return not_understood(path, "a report descriptor", str(failure))


def has_waiting_i2c(tree: KernelTree) -> Reading[bool]:
    """Whether a HID over I2C device that firmware names has no driver."""
    listing = find_bus_devices(tree)
    if not isinstance(listing, Value):
        return listing
    waiting = list(_waiting(tree, listing.value))
    return Value(value=bool(waiting), sources=(*listing.sources, *waiting))


def _waiting(tree: KernelTree, places: tuple[str, ...]) -> Iterator[str]:
    for place in places:
        bus = read_link_name(tree, f"{place}/subsystem")
        on_i2c = isinstance(bus, Value) and bus.value in {"i2c", "acpi"}
        if on_i2c and isinstance(read_driver(tree, place), Absent):
            yield place


READERS: Final = (Reader(kind="input_bus_device", find=find_bus_devices, read=read_bus_device),)
