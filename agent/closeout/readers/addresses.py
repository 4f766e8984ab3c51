"""The addresses of all parts of the unit beside each other: shared, taken on, made up.

Kernel paths: those of `network_interfaces` and `network_address`, and the Bluetooth controllers
of `sys/class/bluetooth`. That a dock takes on the address of the built-in port ("MAC address pass-
through") is meant to be, and no fault.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

from closeout.kernel.tree import KernelTree
from closeout.model.device import Position
from closeout.model.frozen import frozen
from closeout.model.inventory import Listing
from closeout.model.network import Addresses
from closeout.model.reading import Absent, Reading, Unreadable, Value
from closeout.readers.bluetooth import find_controllers, read_address
from closeout.readers.network_address import is_sound, read_current, read_permanent
from closeout.readers.network_interfaces import NET, Interface, find_interfaces
from closeout.readers.places import hardware_of, is_on_usb, label_of, locate, read_position
from closeout.readers.reader import Reader

PLACE: Final = "addresses"
NONE: Final = "no part of the unit has an address"


@frozen
class Holder:
    """A part with its addresses; `is_adapter` for one that is or may be plugged in."""

    name: str
    hardware: str
    is_adapter: bool
    permanent: Reading[str]
    current: Reading[str]

    def addresses(self) -> tuple[str, ...]:
        """Every address that was read, once."""
        readings = (self.permanent, self.current)
        return tuple(dict.fromkeys(one.value for one in readings if isinstance(one, Value)))


def find_addresses(tree: KernelTree) -> Listing:
    """One place wherever interfaces can be listed."""
    found = find_interfaces(tree)
    return found if not isinstance(found, Value) else Value(value=(PLACE,), sources=found.sources)


def read_addresses(tree: KernelTree, place: str) -> Addresses:
    """What the addresses of the unit say together."""
    holders = tuple(_holders(tree))
    return Addresses(
        place=place,
        label="addresses",
        position=Position.INTERNAL,
        duplicates=_sum_up(holders, _duplicates(holders)),
        passed_through=_sum_up(holders, _passed_through(holders)),
        not_permanent=_sum_up(holders, _not_permanent(holders)),
        unsound=_sum_up(holders, _unsound(holders)),
    )


def _holders(tree: KernelTree) -> Iterator[Holder]:
    interfaces = find_interfaces(tree)
    for interface in interfaces.value if isinstance(interfaces, Value) else ():
        yield _interface(tree, interface)
    controllers = find_controllers(tree)
    for place in controllers.value if isinstance(controllers, Value) else ():
        address = read_address(tree, place)
        yield Holder(
            name=label_of(place),
            hardware=hardware_of(locate(tree, f"{place}/device")),
            is_adapter=_is_adapter(tree, place),
            permanent=address,
            current=address,
        )


def _interface(tree: KernelTree, interface: Interface) -> Holder:
    return Holder(
        name=interface.name,
        hardware=hardware_of(interface.card),
        is_adapter=_is_adapter(tree, interface.place),
        permanent=read_permanent(tree, interface.place),
        current=read_current(tree, interface.place),
    )


def _is_adapter(tree: KernelTree, place: str) -> bool:
    """Plugged in, or on a USB port that does not tell whether it is a socket."""
    position = read_position(tree, place)
    return position is Position.EXTERNAL or (position is Position.UNKNOWN and is_on_usb(place))


def _shared(holders: Iterable[Holder]) -> Iterator[tuple[str, list[Holder]]]:
    """Each address that parts of different hardware have, with these parts."""
    by_address: dict[str, list[Holder]] = {}
    for holder in holders:
        for address in holder.addresses():
            by_address.setdefault(address, []).append(holder)
    for address, sharing in sorted(by_address.items()):
        if len({holder.hardware for holder in sharing}) > 1:
            yield address, sharing


def _duplicates(holders: Iterable[Holder]) -> Iterator[str]:
    for address, sharing in _shared(holders):
        own = [holder for holder in sharing if not holder.is_adapter]
        if len({holder.hardware for holder in own}) > 1:
            yield f"{_names(own)}: {address!r}"


def _passed_through(holders: Iterable[Holder]) -> Iterator[str]:
    for address, sharing in _shared(holders):
        own = [holder for holder in sharing if not holder.is_adapter]
        taken = [holder for holder in sharing if holder.is_adapter]
        if own and taken:
            yield f"{_names(taken)} has that of {_names(own)}: {address!r}"


def _not_permanent(holders: Iterable[Holder]) -> Iterator[str]:
    for holder in holders:
        addresses = holder.addresses()
        if len(addresses) > 1:
            permanent, current = addresses
            yield f"{holder.name}: {current!r} for {permanent!r}"


def _unsound(holders: Iterable[Holder]) -> Iterator[str]:
    for holder in holders:
        if isinstance(holder.permanent, Value) and not is_sound(holder.permanent.value):
            yield f"{holder.name}: {holder.permanent.value!r}"


def _names(holders: Iterable[Holder]) -> str:
    return " and ".join(sorted({holder.name for holder in holders}))


def _sum_up(holders: tuple[Holder, ...], texts: Iterator[str]) -> Reading[tuple[str, ...]]:
    """Every text; without one, what could not be read of a part leaves it open."""
    readings = [one for holder in holders for one in (holder.permanent, holder.current)]
    sources = tuple(dict.fromkeys(source for one in readings for source in one.sources))
    told = tuple(texts)
    unread = [one for one in readings if isinstance(one, Unreadable)]
    if unread and not told:
        return unread[0]
    if not any(isinstance(one, Value) for one in readings):
        return Absent(reason=NONE, sources=sources or (NET,))
    return Value(value=told, sources=sources)


READERS: Final = (Reader(kind="addresses", find=find_addresses, read=read_addresses),)
