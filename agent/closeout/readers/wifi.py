"""Wi-Fi radios.

Kernel paths: `sys/class/ieee80211/phyN` (net/wireless/sysfs.c, Documentation/ABI/stable/
sysfs-class-ieee80211) and the network interfaces under the card
(Documentation/ABI/testing/sysfs-class-net).
"""

from __future__ import annotations

from typing import Final

from closeout.decode.mac import MacForm, describe_mac
from closeout.kernel.tree import KernelTree
from closeout.model.inventory import Listing
from closeout.model.reading import Absent, Reading, Value, convert
from closeout.model.wireless import Wifi
from closeout.readers.attributes import list_class, list_folder, read_integer, read_text
from closeout.readers.network_address import read_current
from closeout.readers.places import label_of, locate, read_position
from closeout.readers.radio import read_blocks, read_bus_id, read_driver
from closeout.readers.reader import Reader

CLASS: Final = "sys/class/ieee80211"
NET: Final = "sys/class/net"
PERMANENT: Final = 0
RANDOM: Final = 1
"""Words of `addr_assign_type`: the address in use is the card's own, or made up."""
RANDOM_ADDRESS: Final = "random; permanent address unknown"


def find_radios(tree: KernelTree) -> Listing:
    """The places of all radios."""
    listing = list_class(tree, CLASS)
    if not isinstance(listing, Value):
        return listing
    places = tuple(locate(tree, f"{CLASS}/{name}") for name in listing.value)
    return Value(value=places, sources=listing.sources)


def read_radio(tree: KernelTree, place: str) -> Wifi:
    """One radio with its first network interface."""
    card = locate(tree, f"{place}/device")
    interface = find_interface(tree, place, card)
    mac = read_permanent_address(tree, place, interface)
    blocks = read_blocks(tree, place)
    return Wifi(
        place=place,
        label=label_of(place),
        position=read_position(tree, place),
        interface=convert(interface, label_of),
        driver=read_driver(tree, card),
        mac=mac,
        mac_sound=describe_address(tree, mac, interface),
        current_mac=read_current_address(tree, interface),
        bus_id=read_bus_id(tree, card),
        soft_blocked=blocks.soft,
        hard_blocked=blocks.hard,
    )


def find_interface(tree: KernelTree, place: str, card: str) -> Reading[str]:
    """The path of the radio's first network interface: under its card, else in the net class."""
    under_card = list_folder(tree, f"{card}/net")
    for name in under_card.value if isinstance(under_card, Value) else ():
        path = f"{card}/net/{name}"
        radio = label_of(locate(tree, f"{path}/phy80211"))
        # A card may carry two radios; an interface whose link cannot be followed is its only one.
        if radio in {label_of(place), "phy80211"}:
            return Value(value=path, sources=under_card.sources)
    known = list_folder(tree, NET)
    if not isinstance(known, Value):
        return known
    for name in known.value:
        if locate(tree, f"{NET}/{name}/phy80211") == place:
            return Value(value=f"{NET}/{name}", sources=known.sources)
    sources = under_card.sources + known.sources
    return Absent(reason="the radio has no network interface", sources=sources)


def read_permanent_address(tree: KernelTree, place: str, interface: Reading[str]) -> Reading[str]:
    """The card's own address; the interface's only where the kernel says that it is the same."""
    own = convert(read_text(tree, f"{place}/macaddress"), str.lower)
    if not isinstance(own, Absent) or not isinstance(interface, Value):
        return own
    assigned = read_integer(tree, f"{interface.value}/addr_assign_type")
    if isinstance(assigned, Value) and assigned.value == PERMANENT:
        return convert(read_text(tree, f"{interface.value}/address"), str.lower)
    sources = (*own.sources, *assigned.sources)
    return Absent(reason="the permanent address is not shown", sources=sources)


def read_current_address(tree: KernelTree, interface: Reading[str]) -> Reading[str]:
    """The address in use; systems often make one up for each network."""
    return read_current(tree, interface.value) if isinstance(interface, Value) else interface


def describe_address(tree: KernelTree, mac: Reading[str], interface: Reading[str]) -> Reading[str]:
    """What the address says of itself, in the words of `decode.mac`."""
    form = convert(mac, describe_mac)
    if not isinstance(form, Value):
        return form
    if form.value is MacForm.LOCAL and isinstance(interface, Value):
        assigned = read_integer(tree, f"{interface.value}/addr_assign_type")
        if isinstance(assigned, Value) and assigned.value == RANDOM:
            return Value(value=RANDOM_ADDRESS, sources=(*mac.sources, *assigned.sources))
    return Value(value=form.value.value, sources=mac.sources)


READERS: Final = (Reader(kind="wifi", find=find_radios, read=read_radio),)
