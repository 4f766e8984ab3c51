"""USB Type-C ports with what is plugged in.

Kernel path: `sys/class/typec/portN` (Documentation/ABI/testing/sysfs-class-typec). A firmware that
keeps its ports to itself shows an empty class: no fault of the unit.
"""

from __future__ import annotations

from typing import Final

from closeout.decode.bracketed import parse_chosen_word
from closeout.kernel.tree import KernelTree
from closeout.model.inventory import Listing
from closeout.model.late_pattern import late_pattern
from closeout.model.ports import TypeCPort
from closeout.model.reading import Absent, Reading, Value, convert
from closeout.readers.attributes import list_class, list_folder, read_text, understand
from closeout.readers.places import label_of, locate, read_position
from closeout.readers.reader import Reader

CLASS: Final = "sys/class/typec"
PORT: Final = late_pattern(r"port\d+")
NO_DELIVERY: Final = "0.0"


def find_ports(tree: KernelTree) -> Listing:
    """The places of all ports; partners, cables and plugs are in their folders."""
    listing = list_class(tree, CLASS)
    if not isinstance(listing, Value):
        return listing
    names = (name for name in listing.value if PORT.fullmatch(name))
    places = tuple(locate(tree, f"{CLASS}/{name}") for name in names)
    return Value(value=places, sources=listing.sources)


def read_port(tree: KernelTree, place: str) -> TypeCPort:
    """One port, its roles and its partner."""
    inside = list_folder(tree, place)
    partner = f"{label_of(place)}-partner"
    return TypeCPort(
        place=place,
        label=label_of(place),
        position=read_position(tree, place),
        port_type=_read_chosen(tree, f"{place}/port_type"),
        data_role=_read_chosen(tree, f"{place}/data_role"),
        power_role=_read_chosen(tree, f"{place}/power_role"),
        operation_mode=read_text(tree, f"{place}/power_operation_mode"),
        orientation=read_text(tree, f"{place}/orientation"),
        delivery_revision=_read_revision(tree, f"{place}/usb_power_delivery_revision"),
        partner=convert(inside, lambda names: partner in names),
        accessory=read_text(tree, f"{place}/{partner}/accessory_mode"),
        cable=convert(inside, lambda names: f"{label_of(place)}-cable" in names),
    )


def _read_chosen(tree: KernelTree, path: str) -> Reading[str]:
    return understand(read_text(tree, path), "one word, or one in brackets", parse_chosen_word)


def _read_revision(tree: KernelTree, path: str) -> Reading[str]:
    """0.0 stands for a port that does not speak Power Delivery."""
    revision = read_text(tree, path)
    if isinstance(revision, Value) and revision.value == NO_DELIVERY:
        return Absent(reason="the port speaks no Power Delivery", sources=revision.sources)
    return revision


READERS: Final = (Reader(kind="type_c_port", find=find_ports, read=read_port),)
