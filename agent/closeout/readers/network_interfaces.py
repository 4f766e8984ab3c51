"""The network interfaces that have hardware, sorted by what they are.

Kernel paths: `sys/class/net/NAME/device` (missing for bridges, tunnels and the loopback), `uevent`
with `DEVTYPE`, and `type` (Documentation/ABI/testing/sysfs-class-net; ARPHRD numbers in
include/uapi/linux/if_arp.h).
"""

from __future__ import annotations

from typing import Final

from closeout.decode.uevent import decode_uevent
from closeout.kernel.failure import ReadError
from closeout.kernel.tree import KernelTree
from closeout.model.frozen import frozen
from closeout.model.reading import Absent, Blank, Filler, Reading, Unreadable, Value, convert
from closeout.readers.attributes import list_folder, no_value, read_bytes, read_text
from closeout.readers.places import locate

NET: Final = "sys/class/net"
ETHERNET: Final = "1"
RADIO: Final = "wlan"
MODEM: Final = "wwan"
WIRED: Final = "wired"
OTHER: Final = "other"


@frozen
class Interface:
    """One interface: its folder, the device behind it, and whether wired, wlan, wwan or other."""

    name: str
    place: str
    card: str
    sort: str


def find_interfaces(tree: KernelTree) -> Value[tuple[Interface, ...]] | Absent | Unreadable:
    """Every interface with hardware; what cannot be told of one makes the whole list unread."""
    listing = list_folder(tree, NET)
    if not isinstance(listing, Value):
        return listing
    found: list[Interface] = []
    for name in listing.value:
        card = _card(tree, f"{NET}/{name}/device")
        if isinstance(card, Absent):
            continue
        if isinstance(card, Unreadable):
            return card
        sort = _sort(tree, f"{NET}/{name}")
        if not isinstance(sort, Value):
            return _untold(sort)
        place = locate(tree, f"{NET}/{name}")
        found.append(Interface(name=name, place=place, card=card.value, sort=sort.value))
    return Value(value=tuple(found), sources=listing.sources)


def _untold(sort: Absent | Blank | Filler | Unreadable) -> Absent | Unreadable:
    if isinstance(sort, Absent | Unreadable):
        return sort
    return Unreadable(
        error="MALFORMED", advice="what kind of interface it is was expected", sources=sort.sources
    )


def _card(tree: KernelTree, link: str) -> Value[str] | Absent | Unreadable:
    """Where the link leads; in a copy without links, the folder of that name."""
    try:
        return Value(value=tree.target(link), sources=(link,))
    except ReadError as failure:
        try:
            tree.names(link)
        except ReadError:
            return no_value(failure)
        return Value(value=link, sources=(link,))


def _sort(tree: KernelTree, path: str) -> Reading[str]:
    properties = convert(read_bytes(tree, f"{path}/uevent"), decode_uevent)
    if not isinstance(properties, Value):
        return properties
    told = properties.value.get("DEVTYPE", "")
    if told in {RADIO, MODEM}:
        return Value(value=told, sources=properties.sources)
    hardware = read_text(tree, f"{path}/type")
    return convert(hardware, lambda number: WIRED if number == ETHERNET else OTHER)
