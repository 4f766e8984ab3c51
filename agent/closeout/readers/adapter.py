"""Adapters out of the kernel class power_supply.

Kernel path: `sys/class/power_supply/*` of type Mains, USB or Wireless
(Documentation/ABI/testing/sysfs-class-power).
"""

from __future__ import annotations

from typing import Final

from closeout.kernel.tree import KernelTree
from closeout.model.battery import Adapter
from closeout.model.device import Position
from closeout.model.inventory import Listing
from closeout.model.reading import Absent, Reading, Unreadable, Value
from closeout.readers.attributes import understand
from closeout.readers.places import label_of
from closeout.readers.power_supply import OF_A_PERIPHERAL, Supply, ask_supply, find_supplies
from closeout.readers.reader import Reader

ONLINE: Final = {"0": False, "1": True, "2": True}
"""2 is a supply whose voltage can be programmed (USB Power Delivery)."""


def is_adapter(supply: Supply) -> bool:
    """Mains, Wireless, USB, and the finer USB words of older kernels such as USB_PD.

    Not those that feed a peripheral, or that the unit feeds others through.
    """
    if supply.scope == OF_A_PERIPHERAL:
        return False
    return supply.supply_type in {"Mains", "Wireless"} or supply.supply_type.startswith("USB")


def find_adapters(tree: KernelTree) -> Listing:
    """The places of all supplies that can feed the unit from outside."""
    return find_supplies(tree, is_adapter)


def read_adapter(tree: KernelTree, place: str) -> Adapter:
    """One adapter socket; the kernel shows it whether or not something is plugged in."""
    tell = ask_supply(tree, place)
    return Adapter(
        place=place,
        label=label_of(place),
        position=Position.EXTERNAL,
        supply_type=tell("type"),
        online=understand(tell("online"), "0, 1 or 2", ONLINE.get),
    )


def read_feeding(tree: KernelTree) -> Reading[bool]:
    """Whether any adapter feeds the unit now."""
    listing = find_adapters(tree)
    if not isinstance(listing, Value):
        return listing
    onlines = [read_adapter(tree, place).online for place in listing.value]
    sources = tuple(source for online in onlines for source in online.sources) or listing.sources
    told = [online.value for online in onlines if isinstance(online, Value)]
    if any(told):
        return Value(value=True, sources=sources)
    for online in onlines:
        if isinstance(online, Unreadable):
            return online
    if not told:
        return Absent(reason="no adapter tells whether it feeds the unit", sources=sources)
    return Value(value=False, sources=sources)


READERS: Final = (Reader(kind="adapter", find=find_adapters, read=read_adapter),)
