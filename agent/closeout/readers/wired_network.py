"""Wired network ports, built in or on an adapter or dock.

Kernel path: `sys/class/net/NAME` (Documentation/ABI/testing/sysfs-class-net). While an interface
is down, `carrier`, `speed` and `duplex` answer EINVAL; a speed of -1 stands for no link.
"""

from __future__ import annotations

from typing import Final, TypeVar

from closeout.kernel.tree import KernelTree
from closeout.model.inventory import Listing
from closeout.model.network import WiredNetwork
from closeout.model.reading import Absent, Reading, Unreadable, Value
from closeout.readers.attributes import read_flag, read_integer, read_text
from closeout.readers.network_address import (
    read_current,
    read_origin,
    read_permanent,
    read_soundness,
)
from closeout.readers.network_interfaces import NET, WIRED, find_interfaces
from closeout.readers.places import label_of, locate, read_position
from closeout.readers.radio import read_bus_id, read_driver
from closeout.readers.reader import Reader

T = TypeVar("T")

DOWN: Final = "the interface is down, or its driver does not tell"
NO_LINK: Final = "there is no link, or the driver does not tell"
NO_SPEED: Final = frozenset({-1, 0xFFFF_FFFF})
UNKNOWN: Final = "unknown"


def find_ports(tree: KernelTree) -> Listing:
    """The places of all wired ports."""
    found = find_interfaces(tree)
    if not isinstance(found, Value):
        return found
    places = tuple(one.place for one in found.value if one.sort == WIRED)
    return Value(value=places, sources=found.sources)


def read_port(tree: KernelTree, place: str) -> WiredNetwork:
    """One port with its addresses and its link."""
    card = locate(tree, f"{place}/device")
    mac = read_permanent(tree, place)
    return WiredNetwork(
        place=place,
        label=label_of(place),
        position=read_position(tree, place),
        interface=Value(value=label_of(place), sources=(NET,)),
        driver=read_driver(tree, card),
        bus_id=read_bus_id(tree, card),
        mac=mac,
        mac_sound=read_soundness(mac),
        current_mac=read_current(tree, place),
        current_mac_origin=read_origin(tree, place),
        carrier=_when_up(read_flag(tree, f"{place}/carrier")),
        state=read_text(tree, f"{place}/operstate"),
        speed_mbit=_speed(_when_up(read_integer(tree, f"{place}/speed"))),
        duplex=_duplex(_when_up(read_text(tree, f"{place}/duplex"))),
    )


def _when_up(reading: Reading[T]) -> Reading[T]:
    """EINVAL says that the interface is down, which is no fault of it (net/core/net-sysfs.c)."""
    if isinstance(reading, Unreadable) and reading.error == "EINVAL":
        return Absent(reason=DOWN, sources=reading.sources)
    return reading


def _speed(reading: Reading[int]) -> Reading[int]:
    """-1 is SPEED_UNKNOWN; some drivers write it as an unsigned number."""
    if isinstance(reading, Value) and reading.value in NO_SPEED:
        return Absent(reason=NO_LINK, sources=reading.sources)
    return reading


def _duplex(reading: Reading[str]) -> Reading[str]:
    if isinstance(reading, Value) and reading.value == UNKNOWN:
        return Absent(reason=NO_LINK, sources=reading.sources)
    return reading


READERS: Final = (Reader(kind="wired_network", find=find_ports, read=read_port),)
