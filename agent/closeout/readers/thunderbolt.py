"""Thunderbolt and USB4 routers: the unit's own, and what is plugged in.

Kernel path: `sys/bus/thunderbolt/devices` with `domainN/security` and routers `N-ROUTE`
(Documentation/ABI/testing/sysfs-bus-thunderbolt, Documentation/admin-guide/thunderbolt.rst).
"""

from __future__ import annotations

from typing import Final

from closeout.decode.numerals import parse_hexadecimal, parse_whole
from closeout.kernel.tree import KernelTree
from closeout.model.inventory import Listing
from closeout.model.ports import Thunderbolt
from closeout.model.reading import Reading, Value, combine
from closeout.readers.attributes import list_class, list_folder, read_text, understand
from closeout.readers.places import ROUTER, label_of, locate, position_of_router
from closeout.readers.reader import Reader

BUS: Final = "sys/bus/thunderbolt"


def find_routers(tree: KernelTree) -> Listing:
    """The places of all routers; domains, services and retimers are none."""
    bus = list_class(tree, BUS)
    if not (isinstance(bus, Value) and bus.value):
        return bus
    listing = list_folder(tree, f"{BUS}/devices")
    if not isinstance(listing, Value):
        return listing
    names = (name for name in listing.value if ROUTER.fullmatch(name))
    places = tuple(locate(tree, f"{BUS}/devices/{name}") for name in names)
    return Value(value=places, sources=listing.sources)


def read_router(tree: KernelTree, place: str) -> Thunderbolt:
    """One router, and the security level of its domain."""
    domain = f"domain{label_of(place).partition('-')[0]}"
    vendor, device = (_read_id(tree, f"{place}/{name}") for name in ("vendor", "device"))
    return Thunderbolt(
        place=place,
        label=label_of(place),
        position=position_of_router(place),
        security=read_text(tree, f"{BUS}/devices/{domain}/security"),
        authorised=understand(
            read_text(tree, f"{place}/authorized"),
            "0, 1 or 2",
            {"0": False, "1": True, "2": True}.get,
        ),
        generation=understand(read_text(tree, f"{place}/generation"), "a number", parse_whole),
        ids=combine(vendor, device, lambda left, right: f"{left}:{right}"),
        vendor_name=read_text(tree, f"{place}/vendor_name"),
        device_name=read_text(tree, f"{place}/device_name"),
        firmware=read_text(tree, f"{place}/nvm_version"),
        unique_id=read_text(tree, f"{place}/unique_id"),
    )


def _read_id(tree: KernelTree, path: str) -> Reading[str]:
    """`0x8086` or `0x1` as four digits."""
    return understand(
        read_text(tree, path),
        "a hexadecimal number of at most four digits",
        lambda text: parse_hexadecimal(text.removeprefix("0x").zfill(4), 4),
    )


READERS: Final = (Reader(kind="thunderbolt", find=find_routers, read=read_router),)
