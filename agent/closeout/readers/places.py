"""Where a device sits: the folder behind a class link, and inside or outside of the unit."""

from __future__ import annotations

import errno
import re
from collections.abc import Mapping
from functools import lru_cache
from typing import Final

from closeout.kernel.failure import ReadError, Reason
from closeout.kernel.tree import KernelTree
from closeout.model.device import Position
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Absent, Value
from closeout.readers.attributes import read_text

DEVICES: Final = "sys/devices/"
VIRTUAL: Final = "sys/devices/virtual/"
USB_DEVICE: Final = late_pattern(r"[1-9]\d*-[1-9]\d*(\.[1-9]\d*)*")
"""Buses and ports count from 1; a chip on I2C is `1-0048`."""
MEMORY_CARD: Final = late_pattern(r"mmc\d+:[0-9a-f]{4}")
BY_CARD: Final = {
    "SD": Position.EXTERNAL,
    "MMC": Position.INTERNAL,
    "SDIO": Position.INTERNAL,
    "SDcombo": Position.INTERNAL,
}
"""By `type`: a card that people put in; soldered memory; a radio."""
ROUTER: Final = late_pattern(r"\d+-[0-9a-f]+")
OWN_ROUTER: Final = late_pattern(r"\d+-0")
"""The router of route 0 is the unit's own; all others are plugged in
(Documentation/admin-guide/thunderbolt.rst)."""
DOMAIN: Final = late_pattern(r"domain\d+")
PLATFORM: Final = "sys/devices/platform/"
DESCRIBED_BY: Final = ("firmware_node", "of_node")
"""Links of a device that the firmware describes, by ACPI or by a device tree."""
PCI_FUNCTION: Final = late_pattern(r"[0-9a-f]{4,}:[0-9a-f]{2}:[0-9a-f]{2}\.[0-7]")
NO_LINK: Final = frozenset({errno.EINVAL, errno.ENOENT, errno.ENOTDIR})
BY_REMOVABLE: Final = {
    "fixed": Position.INTERNAL,
    "removable": Position.EXTERNAL,
    "unknown": Position.UNKNOWN,
}
BY_CONNECT_TYPE: Final = {
    "hardwired": Position.INTERNAL,
    "hotplug": Position.EXTERNAL,
    "not used": Position.UNKNOWN,
    "unknown": Position.UNKNOWN,
}
OUTERMOST_FIRST: Final = (Position.EXTERNAL, Position.UNREAD, Position.UNKNOWN)


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
    (Documentation/ABI/testing/sysfs-devices-removable and sysfs-bus-usb); the route of a
    Thunderbolt router; the `type` of a memory card. A PCI function that is reached through a
    Thunderbolt tunnel is `removable`, as its port faces outwards. A device behind an
    external one is external too; without such a port a device of the unit's own buses is inside.
    """
    if place.startswith(VIRTUAL):
        return Position.UNKNOWN
    functions = _folders(place, PCI_FUNCTION)
    reached = {_pci_position(tree, at) for at in functions[-1:]}
    reached |= {_card_position(tree, card) for card in _folders(place, MEMORY_CARD)}
    if _folders(place, DOMAIN):
        return _outermost(reached | {position_of_router(place)})
    reached |= {_usb_position(tree, port) for port in _folders(place, USB_DEVICE)}
    if reached or place.startswith(DEVICES):
        return _outermost(reached)
    return _position_of_unfollowed(tree, place)


def position_of_router(place: str) -> Position:
    """Inside for the unit's own Thunderbolt router and its domain, outside beyond it."""
    routers = _folders(place, ROUTER)
    own = all(OWN_ROUTER.fullmatch(label_of(router)) for router in routers)
    return Position.INTERNAL if own else Position.EXTERNAL


def hardware_of(place: str) -> str:
    """The USB device, else the PCI function, that a place is in; else the place itself."""
    for name in (USB_DEVICE, PCI_FUNCTION):
        folders = _folders(place, name)
        if folders:
            return folders[-1]
    return place


def is_on_usb(place: str) -> bool:
    """It is a USB device or hangs on one."""
    return bool(_folders(place, USB_DEVICE))


def is_made_of_software(tree: KernelTree, place: str) -> bool:
    """No hardware stands behind the device: a driver made it up, to test or to pass on.

    Such devices sit under `virtual`, or on the platform bus without anything of the firmware's
    describing them on the way (Documentation/driver-api/driver-model/platform.rst).
    """
    if place.startswith(VIRTUAL):
        return True
    if not place.startswith(PLATFORM) or _folders(place, PCI_FUNCTION):
        return False
    parts = place.split("/")
    ways = ("/".join(parts[:depth]) for depth in range(4, len(parts) + 1))
    return not any(_is_described(tree, folder) for folder in ways)


def _is_described(tree: KernelTree, folder: str) -> bool:
    """The firmware describes it; so it counts too where that cannot be read."""
    for link in DESCRIBED_BY:
        try:
            tree.target(f"{folder}/{link}")
        except ReadError as failure:
            if failure.number not in {errno.ENOENT, errno.ENOTDIR}:
                return True
        else:
            return True
    return False


@lru_cache(maxsize=1024)
def _folders(place: str, name: re.Pattern[str]) -> tuple[str, ...]:
    """The folders on the way to a place whose own name has this form, outermost first."""
    parts = place.split("/")
    found = (index for index, part in enumerate(parts) if name.fullmatch(part))
    return tuple("/".join(parts[: index + 1]) for index in found)


def _pci_position(tree: KernelTree, function: str) -> Position:
    """Only what the kernel calls removable is outside; most functions have no such file."""
    return _inside_unless_told(_told(tree, f"{function}/removable", BY_REMOVABLE))


def _card_position(tree: KernelTree, card: str) -> Position:
    """A memory card in a slot is outside, soldered memory inside (type_show, core/bus.c of mmc)."""
    return _inside_unless_told(_told(tree, f"{card}/type", BY_CARD))


def _inside_unless_told(told: Position) -> Position:
    return told if told in {Position.EXTERNAL, Position.UNREAD} else Position.INTERNAL


def _usb_position(tree: KernelTree, device: str) -> Position:
    port = locate(tree, f"{device}/port")
    by_port = _told(tree, f"{port}/connect_type", BY_CONNECT_TYPE)
    if by_port in {Position.INTERNAL, Position.EXTERNAL}:
        return by_port
    by_device = _told(tree, f"{device}/removable", BY_REMOVABLE)
    if by_device in {Position.INTERNAL, Position.EXTERNAL}:
        return by_device
    return Position.UNREAD if Position.UNREAD in {by_port, by_device} else Position.UNKNOWN


def _told(tree: KernelTree, path: str, words: Mapping[str, Position]) -> Position:
    """What a file says; UNKNOWN where there is none, UNREAD where it is not understood."""
    text = read_text(tree, path)
    if isinstance(text, Absent):
        return Position.UNKNOWN
    return words.get(text.value, Position.UNREAD) if isinstance(text, Value) else Position.UNREAD


def _position_of_unfollowed(tree: KernelTree, place: str) -> Position:
    """Of a device that stayed at its link: a copy without links tells no more, a failure hides."""
    try:
        tree.target(place)
    except ReadError as failure:
        is_no_link = failure.reason is Reason.KERNEL and failure.number in NO_LINK
        return Position.UNKNOWN if is_no_link else Position.UNREAD
    return Position.UNKNOWN


def _outermost(positions: set[Position]) -> Position:
    for position in OUTERMOST_FIRST:
        if position in positions:
            return position
    return Position.INTERNAL
