"""Mobile broadband modems: what their control ports and network interfaces hang on.

Kernel paths: `sys/class/wwan/wwanN` with the control ports beside it (`wwan0mbim0`, `wwan0at0`:
drivers/net/wwan/wwan_core.c), and network interfaces whose `DEVTYPE` is `wwan`. Subscriber and
device numbers are not asked for.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from closeout.kernel.tree import KernelTree
from closeout.model.frozen import frozen
from closeout.model.inventory import Listing
from closeout.model.late_pattern import late_pattern
from closeout.model.network import Wwan
from closeout.model.reading import Absent, Reading, Unreadable, Value
from closeout.readers.attributes import list_class
from closeout.readers.network_interfaces import MODEM, find_interfaces
from closeout.readers.places import hardware_of, label_of, locate, read_position
from closeout.readers.radio import read_blocks, read_bus_id, read_driver
from closeout.readers.reader import Reader

CLASS: Final = "sys/class/wwan"
ROOT: Final = late_pattern(r"wwan\d+")


@frozen
class Sign:
    """A class device that a modem shows; `card` is the device behind it."""

    name: str
    card: str
    is_interface: bool


def find_modems(tree: KernelTree) -> Listing:
    """The places of all modems: the USB device or PCI function of each, once."""
    signs = find_signs(tree)
    if not isinstance(signs, Value):
        return signs
    places = dict.fromkeys(hardware_of(sign.card) for sign in signs.value)
    return Value(value=tuple(places), sources=signs.sources)


def read_modem(tree: KernelTree, place: str) -> Wwan:
    """One modem with everything that it shows."""
    found = find_signs(tree)
    mine = tuple(sign for sign in _told(found) if hardware_of(sign.card) == place)
    blocks = read_blocks(tree, place)
    return Wwan(
        place=place,
        label=label_of(place),
        position=read_position(tree, place),
        interfaces=_names(found, (sign.name for sign in mine if sign.is_interface)),
        control_ports=_names(
            found,
            (s.name for s in mine if not s.is_interface and not ROOT.fullmatch(s.name)),
        ),
        driver=_driver(tree, mine, found.sources),
        bus_id=read_bus_id(tree, place),
        soft_blocked=blocks.soft,
        hard_blocked=blocks.hard,
    )


def find_signs(tree: KernelTree) -> Value[tuple[Sign, ...]] | Absent | Unreadable:
    """Everything that modems show; the class and the interfaces both have to be listed."""
    listing = list_class(tree, CLASS)
    if not isinstance(listing, Value):
        return listing
    interfaces = find_interfaces(tree)
    if not isinstance(interfaces, Value):
        return interfaces
    ports = [Sign(name=name, card=_card(tree, name), is_interface=False) for name in listing.value]
    signs = [
        Sign(name=one.name, card=one.card, is_interface=True)
        for one in interfaces.value
        if one.sort == MODEM
    ]
    return Value(value=(*ports, *signs), sources=listing.sources + interfaces.sources)


def _card(tree: KernelTree, name: str) -> str:
    """The device behind an entry of the class: a port's `device` is its modem's entry."""
    place = locate(tree, f"{CLASS}/{name}")
    device = locate(tree, f"{place}/device")
    return place.split("/wwan/", 1)[0] if "/wwan/" in place else device


def _told(found: Value[tuple[Sign, ...]] | Absent | Unreadable) -> tuple[Sign, ...]:
    return found.value if isinstance(found, Value) else ()


def _names(
    found: Value[tuple[Sign, ...]] | Absent | Unreadable, names: Iterator[str]
) -> Reading[tuple[str, ...]]:
    if not isinstance(found, Value):
        return found
    return Value(value=tuple(names), sources=found.sources)


def _driver(tree: KernelTree, mine: tuple[Sign, ...], sources: tuple[str, ...]) -> Reading[str]:
    """That of the part of the modem which the first sign hangs on."""
    for sign in mine:
        return read_driver(tree, sign.card)
    return Absent(reason="nothing of the modem is shown", sources=sources)


READERS: Final = (Reader(kind="wwan", find=find_modems, read=read_modem),)
