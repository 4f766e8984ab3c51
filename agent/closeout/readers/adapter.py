"""Adapters out of the kernel class power_supply.

Kernel path: `sys/class/power_supply/*` of type Mains or USB
(Documentation/ABI/testing/sysfs-class-power).
"""

from typing import Final

from closeout.kernel.tree import KernelTree
from closeout.model.battery import Adapter
from closeout.model.device import Position
from closeout.model.inventory import Listing
from closeout.readers.attributes import understand
from closeout.readers.places import label_of
from closeout.readers.power_supply import ask_supply, find_supplies
from closeout.readers.reader import Reader

ONLINE: Final = {"0": False, "1": True, "2": True}
"""2 is a supply whose voltage can be programmed (USB Power Delivery)."""


def is_adapter(supply_type: str) -> bool:
    """Mains, USB, and the finer USB words of older kernels such as USB_PD."""
    return supply_type == "Mains" or supply_type.startswith("USB")


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


READERS: Final = (Reader(kind="adapter", find=find_adapters, read=read_adapter),)
