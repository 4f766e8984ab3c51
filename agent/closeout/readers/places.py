"""Where a device sits: the folder behind a class link, and inside or outside of the unit."""

import re
from collections.abc import Iterator
from typing import Final

from closeout.kernel.failure import ReadError
from closeout.kernel.tree import KernelTree
from closeout.model.device import Position
from closeout.model.reading import Value
from closeout.readers.attributes import read_text

DEVICES: Final = "sys/devices/"
VIRTUAL: Final = "sys/devices/virtual/"
USB_DEVICE: Final = re.compile(r"\d+-\d+(\.\d+)*")
USB_BUS: Final = re.compile(r"(^|/)usb\d+/")
"""Where USB devices sit; a chip on an I2C bus has a name of the same form, 1-0048."""
PCI_FUNCTION: Final = re.compile(r"[0-9a-f]{4,}:[0-9a-f]{2}:[0-9a-f]{2}\.[0-7]")
BY_REMOVABLE: Final = {"fixed": Position.INTERNAL, "removable": Position.EXTERNAL}
BY_CONNECT_TYPE: Final = {"hardwired": Position.INTERNAL, "hotplug": Position.EXTERNAL}


def locate(tree: KernelTree, path: str) -> str:
    """The folder that a link leads to; the path itself where it is no link that can be read."""
    try:
        return tree.target(path)
    except ReadError:
        return path


def label_of(place: str) -> str:
    """The kernel's name of a device, the last part of its place."""
    return place.rsplit("/", 1)[-1]


def read_position(tree: KernelTree, place: str) -> Position:
    """Inside or outside, by the ports on the way to the device; UNKNOWN where they do not tell.

    Kernel files: `removable` of PCI functions and USB devices, `connect_type` of USB ports
    (Documentation/ABI/testing/sysfs-devices-removable and sysfs-bus-usb). A device behind an
    external one is external too; without such a port a device of the unit's own buses is inside.
    """
    if place.startswith(VIRTUAL):
        return Position.UNKNOWN
    functions = tuple(_folders(place, PCI_FUNCTION))
    if functions and _is_removable(tree, functions[-1]):
        return Position.EXTERNAL
    ports = tuple(_folders(place, USB_DEVICE)) if USB_BUS.search(place) else ()
    if ports:
        return _outermost({_usb_position(tree, port) for port in ports})
    if functions or place.startswith(DEVICES):
        return Position.INTERNAL
    return Position.UNKNOWN


def _folders(place: str, name: re.Pattern[str]) -> Iterator[str]:
    """The folders on the way to a place whose own name has this form, outermost first."""
    parts = place.split("/")
    for index, part in enumerate(parts):
        if name.fullmatch(part):
            yield "/".join(parts[: index + 1])


def _is_removable(tree: KernelTree, function: str) -> bool:
    removable = read_text(tree, f"{function}/removable")
    return isinstance(removable, Value) and removable.value == "removable"


def _usb_position(tree: KernelTree, device: str) -> Position:
    connect_type = read_text(tree, f"{locate(tree, f'{device}/port')}/connect_type")
    if isinstance(connect_type, Value) and connect_type.value in BY_CONNECT_TYPE:
        return BY_CONNECT_TYPE[connect_type.value]
    removable = read_text(tree, f"{device}/removable")
    if isinstance(removable, Value):
        return BY_REMOVABLE.get(removable.value, Position.UNKNOWN)
    return Position.UNKNOWN


def _outermost(positions: set[Position]) -> Position:
    if Position.EXTERNAL in positions:
        return Position.EXTERNAL
    return Position.UNKNOWN if Position.UNKNOWN in positions else Position.INTERNAL
