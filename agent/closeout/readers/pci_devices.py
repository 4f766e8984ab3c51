"""All functions of the PCI bus.

Kernel path: `sys/bus/pci/devices/*` (Documentation/ABI/testing/sysfs-bus-pci).
"""

from __future__ import annotations

from typing import Final

from closeout.decode.numerals import parse_hexadecimal
from closeout.decode.pci_class import describe_pci_class, has_usual_driver
from closeout.kernel.tree import KernelTree
from closeout.model.buses import PciDevice
from closeout.model.inventory import Listing
from closeout.model.reading import Absent, Reading, Value, combine, convert
from closeout.readers.attributes import list_class, list_folder, read_text, understand
from closeout.readers.names_file import read_names
from closeout.readers.pcie_link import read_link
from closeout.readers.places import label_of, locate, read_position
from closeout.readers.radio import read_driver
from closeout.readers.reader import Reader

BUS: Final = "sys/bus/pci"
NO_SUBSYSTEM: Final = "0000:0000"


def find_functions(tree: KernelTree) -> Listing:
    """The places of all functions; a machine without the bus has none."""
    bus = list_class(tree, BUS)
    if not (isinstance(bus, Value) and bus.value):
        return bus
    listing = list_folder(tree, f"{BUS}/devices")
    if not isinstance(listing, Value):
        return listing
    places = tuple(locate(tree, f"{BUS}/devices/{name}") for name in listing.value)
    return Value(value=places, sources=listing.sources)


def read_function(tree: KernelTree, place: str) -> PciDevice:
    """One function with its names and its driver."""
    ids = read_ids(tree, place)
    class_code = read_class(tree, place)
    driver = read_driver(tree, place)
    names = read_names(tree, "pci", ids)
    link = read_link(tree, place)
    return PciDevice(
        place=place,
        label=label_of(place),
        position=read_position(tree, place),
        ids=ids,
        subsystem_ids=_read_subsystem(tree, place),
        class_code=class_code,
        class_words=convert(class_code, describe_pci_class),
        vendor_name=names.vendor,
        device_name=names.device,
        driver=driver,
        unbound=is_unbound(driver, class_code),
        link_speed=link.speed,
        link_speed_possible=link.speed_possible,
        link_width=link.width,
        link_width_possible=link.width_possible,
        link_narrow=link.narrow,
    )


def is_unbound(driver: Reading[str], class_code: Reading[str]) -> Reading[bool]:
    """No driver is bound although the class usually has one."""
    if isinstance(driver, Value):
        return Value(value=False, sources=driver.sources)
    if not isinstance(driver, Absent):
        return driver
    if not isinstance(class_code, Value):
        return class_code
    unbound = has_usual_driver(class_code.value)
    return Value(value=unbound, sources=driver.sources + class_code.sources)


def read_ids(tree: KernelTree, place: str) -> Reading[str]:
    """`vendor:device` of the function at a place."""
    return _read_pair(tree, place, "vendor", "device")


def read_class(tree: KernelTree, place: str) -> Reading[str]:
    """The six hexadecimal digits of its class code."""
    return _read_digits(tree, f"{place}/class", 6)


def _read_digits(tree: KernelTree, path: str, digits: int) -> Reading[str]:
    wanted = f"{digits} hexadecimal digits"
    return understand(read_text(tree, path), wanted, lambda text: parse_hexadecimal(text, digits))


def _read_pair(tree: KernelTree, place: str, vendor: str, device: str) -> Reading[str]:
    first = _read_digits(tree, f"{place}/{vendor}", 4)
    second = _read_digits(tree, f"{place}/{device}", 4)
    return combine(first, second, lambda left, right: f"{left}:{right}")


def _read_subsystem(tree: KernelTree, place: str) -> Reading[str]:
    """Zeros stand for "not implemented" (PCI Local Bus 3.0, section 6.2.4); bridges have none."""
    ids = _read_pair(tree, place, "subsystem_vendor", "subsystem_device")
    if isinstance(ids, Value) and ids.value == NO_SUBSYSTEM:
        return Absent(reason="the function has no subsystem ids", sources=ids.sources)
    return ids


READERS: Final = (Reader(kind="pci_device", find=find_functions, read=read_function),)
