"""The ports of all USB hubs: sockets, what is wired inside, and ports that lead nowhere.

Kernel path: `sys/bus/usb/devices/HUB:1.0/HUB-portN` with `connect_type`, `location`, `peer`,
`over_current_count`, `state`, `disable` (Documentation/ABI/testing/sysfs-bus-usb); `device` leads
to what is plugged in.
"""

from __future__ import annotations

from typing import Final

from closeout.kernel.tree import KernelTree
from closeout.model.inventory import Listing
from closeout.model.late_pattern import late_pattern
from closeout.model.ports import UsbPort
from closeout.model.reading import Absent, Reading, Value
from closeout.readers.attributes import (
    list_class,
    list_folder,
    read_flag,
    read_integer,
    read_link_name,
    read_text,
)
from closeout.readers.places import label_of, locate, read_position
from closeout.readers.reader import Reader
from closeout.readers.usb_devices import BUS

HUB_INTERFACE: Final = late_pattern(r"\d+-[\d.]+:1\.0")
PORT: Final = late_pattern(r"(usb\d+|\d+-[\d.]+)-port\d+")
NOBODY: Final = "the firmware says nothing of it"
NO_LOCATION: Final = "0x00000000"
UNKNOWN: Final = "unknown"


def find_ports(tree: KernelTree) -> Listing:
    """The places of all ports; a hub whose folder cannot be listed makes the whole list unread."""
    bus = list_class(tree, BUS)
    if not (isinstance(bus, Value) and bus.value):
        return bus
    devices = list_folder(tree, f"{BUS}/devices")
    if not isinstance(devices, Value):
        return devices
    places: list[str] = []
    for name in devices.value:
        if HUB_INTERFACE.fullmatch(name):
            folder = locate(tree, f"{BUS}/devices/{name}")
            inside = list_folder(tree, folder)
            if not isinstance(inside, Value | Absent):
                return inside
            names = inside.value if isinstance(inside, Value) else ()
            places += [f"{folder}/{port}" for port in names if PORT.fullmatch(port)]
    return Value(value=tuple(places), sources=devices.sources)


def read_port(tree: KernelTree, place: str) -> UsbPort:
    """One port; it is inside where its hub is."""
    return UsbPort(
        place=place,
        label=label_of(place),
        position=read_position(tree, place),
        connect_type=_said(read_text(tree, f"{place}/connect_type"), UNKNOWN),
        device=_read_neighbour(tree, f"{place}/device", "nothing is plugged in"),
        state=read_text(tree, f"{place}/state"),
        peer=_read_neighbour(tree, f"{place}/peer", "the port has no other half"),
        location=_said(read_text(tree, f"{place}/location"), NO_LOCATION),
        over_current_count=read_integer(tree, f"{place}/over_current_count"),
        disabled=read_flag(tree, f"{place}/disable"),
    )


def _read_neighbour(tree: KernelTree, link: str, nobody: str) -> Reading[str]:
    name = read_link_name(tree, link)
    return Absent(reason=nobody, sources=name.sources) if isinstance(name, Absent) else name


def _said(reading: Reading[str], nothing: str) -> Reading[str]:
    if isinstance(reading, Value) and reading.value == nothing:
        return Absent(reason=NOBODY, sources=reading.sources)
    return reading


READERS: Final = (Reader(kind="usb_port", find=find_ports, read=read_port),)
