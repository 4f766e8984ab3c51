"""Controllers for near-field communication.

Kernel path: `sys/class/nfc/nfcN` (net/nfc/core.c); the class shows nothing of its own, so card and
switches tell the rest.
"""

from __future__ import annotations

from typing import Final

from closeout.kernel.tree import KernelTree
from closeout.model.card_contact import Nfc
from closeout.model.inventory import Listing
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Value
from closeout.readers.attributes import list_class
from closeout.readers.places import is_made_of_software, label_of, locate, read_position
from closeout.readers.radio import read_blocks, read_bus_id, read_driver
from closeout.readers.reader import Reader

CLASS: Final = "sys/class/nfc"
CONTROLLER: Final = late_pattern(r"nfc\d+")


def find_controllers(tree: KernelTree) -> Listing:
    """The places of all controllers with hardware behind them."""
    listing = list_class(tree, CLASS)
    if not isinstance(listing, Value):
        return listing
    names = (name for name in listing.value if CONTROLLER.fullmatch(name))
    places = (locate(tree, f"{CLASS}/{name}") for name in names)
    hard = tuple(place for place in places if not is_made_of_software(tree, place))
    return Value(value=hard, sources=listing.sources)


def read_controller(tree: KernelTree, place: str) -> Nfc:
    """One controller with its driver and switches."""
    card = locate(tree, f"{place}/device")
    blocks = read_blocks(tree, place)
    return Nfc(
        place=place,
        label=label_of(place),
        position=read_position(tree, place),
        driver=read_driver(tree, card),
        bus_id=read_bus_id(tree, card),
        soft_blocked=blocks.soft,
        hard_blocked=blocks.hard,
    )


READERS: Final = (Reader(kind="nfc", find=find_controllers, read=read_controller),)
