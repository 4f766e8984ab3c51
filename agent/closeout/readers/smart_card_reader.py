"""Smart card readers on USB, by the class of their interface.

Kernel paths: `sys/bus/usb/devices/B-P:C.I/bInterfaceClass` (0b, USB-IF defined class codes) and
`descriptors` of the device above (Documentation/ABI/testing/sysfs-bus-usb). Programs drive them,
so that no kernel driver is bound is normal.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from closeout.kernel.tree import KernelTree
from closeout.model.card_contact import SmartCardReader
from closeout.model.inventory import Listing
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Absent, Reading, Value, convert
from closeout.readers.attributes import list_class, list_folder, read_bytes, read_text
from closeout.readers.decoded import collect_places, decoded
from closeout.readers.places import label_of, locate, read_position
from closeout.readers.radio import read_bus_id
from closeout.readers.reader import Reader

if TYPE_CHECKING:
    from closeout.decode.ccid import CardReader

BUS: Final = "sys/bus/usb"
INTERFACE: Final = late_pattern(r"\d+-[\d.]+:\d+\.(\d+)")
SMART_CARD: Final = "0b"


def find_readers(tree: KernelTree) -> Listing:
    """The places of all interfaces of the class."""
    bus = list_class(tree, BUS)
    if not (isinstance(bus, Value) and bus.value):
        return bus
    listing = list_folder(tree, f"{BUS}/devices")
    if not isinstance(listing, Value):
        return listing
    return collect_places(_chosen(tree, listing.value), listing.sources)


def read_reader(tree: KernelTree, place: str) -> SmartCardReader:
    """One reader with what its class descriptor says."""
    device = place.rpartition("/")[0]
    contact = _read_contact(tree, device, place)
    return SmartCardReader(
        place=place,
        label=label_of(place),
        position=read_position(tree, place),
        ids=read_bus_id(tree, place),
        product=read_text(tree, f"{device}/product"),
        serial=read_text(tree, f"{device}/serial"),
        revision=convert(contact, lambda told: told.revision),
        slots=convert(contact, lambda told: told.slots),
        voltages=convert(contact, lambda told: told.voltages),
        protocols=convert(contact, lambda told: told.protocols),
    )


def _chosen(tree: KernelTree, names: tuple[str, ...]) -> Iterator[Reading[tuple[str, ...]]]:
    for name in names:
        if INTERFACE.fullmatch(name):
            place = locate(tree, f"{BUS}/devices/{name}")
            yield _if_smart_card(tree, place)


def _if_smart_card(tree: KernelTree, place: str) -> Reading[tuple[str, ...]]:
    code = read_text(tree, f"{place}/bInterfaceClass")
    return convert(code, lambda text: (place,) if text.lower() == SMART_CARD else ())


def _read_contact(tree: KernelTree, device: str, place: str) -> Reading[CardReader]:
    from closeout.decode.ccid import decode_ccid, find_ccid  # noqa: PLC0415 - few units have one
    from closeout.decode.usb_descriptors import decode_usb_descriptors  # noqa: PLC0415 - as above

    descriptors = decoded(read_bytes(tree, f"{device}/descriptors"), decode_usb_descriptors)
    if not isinstance(descriptors, Value):
        return descriptors
    found = INTERFACE.fullmatch(label_of(place))
    raw = find_ccid(descriptors.value, int(found[1]) if found else -1)
    if raw is None:
        reason = "the interface has no descriptor of its class"
        return Absent(reason=reason, sources=descriptors.sources)
    return decoded(Value(value=raw, sources=descriptors.sources), decode_ccid)


READERS: Final = (Reader(kind="smart_card_reader", find=find_readers, read=read_reader),)
