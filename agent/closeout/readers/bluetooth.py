"""Bluetooth controllers.

Kernel path: `sys/class/bluetooth/hciN` (net/bluetooth/hci_sysfs.c); the class shows no address,
which is asked for as `bluetooth address hciN`.
"""

from __future__ import annotations

from typing import Final

from closeout.kernel.tree import KernelTree
from closeout.model.inventory import Listing
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Reading, Value
from closeout.model.wireless import Bluetooth
from closeout.readers.attributes import list_class
from closeout.readers.network_address import ask_address, read_soundness
from closeout.readers.places import label_of, locate, read_position
from closeout.readers.radio import read_blocks, read_bus_id, read_driver
from closeout.readers.reader import Reader

CLASS: Final = "sys/class/bluetooth"
UNTOLD: Final = "the controller has not told its address"
CONTROLLER: Final = late_pattern(r"hci\d+")
"""`hci0:11` beside it is a connection and no controller."""


def find_controllers(tree: KernelTree) -> Listing:
    """The places of all controllers."""
    listing = list_class(tree, CLASS)
    if not isinstance(listing, Value):
        return listing
    names = (name for name in listing.value if CONTROLLER.fullmatch(name))
    places = tuple(locate(tree, f"{CLASS}/{name}") for name in names)
    return Value(value=places, sources=listing.sources)


def read_controller(tree: KernelTree, place: str) -> Bluetooth:
    """One controller with its driver and switches."""
    card = locate(tree, f"{place}/device")
    blocks = read_blocks(tree, place)
    mac = read_address(tree, place)
    return Bluetooth(
        place=place,
        label=label_of(place),
        position=read_position(tree, place),
        driver=read_driver(tree, card),
        mac=mac,
        mac_sound=read_soundness(mac),
        bus_id=read_bus_id(tree, card),
        soft_blocked=blocks.soft,
        hard_blocked=blocks.hard,
    )


def read_address(tree: KernelTree, place: str) -> Reading[str]:
    """The controller's address; one that was never started may not have told it yet."""
    return ask_address(tree, f"bluetooth address {label_of(place)}", UNTOLD)


READERS: Final = (Reader(kind="bluetooth", find=find_controllers, read=read_controller),)
