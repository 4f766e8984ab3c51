"""All devices of the USB buses, root hubs included.

Kernel path: `sys/bus/usb/devices/*` (Documentation/ABI/testing/sysfs-bus-usb); `usbN` are root
hubs, `B-P` devices, and `B-P:C.I` the interfaces of a device, folders of its own folder.
"""

from __future__ import annotations

from typing import Final

from closeout.decode.numerals import parse_hexadecimal, parse_release
from closeout.decode.usb_class import has_usual_driver
from closeout.kernel.tree import KernelTree
from closeout.model.buses import UsbDevice
from closeout.model.inventory import Listing
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Absent, Reading, Value, combine, convert
from closeout.readers.attributes import list_class, list_folder, read_text, understand
from closeout.readers.first_told import first_told
from closeout.readers.names_file import read_names
from closeout.readers.places import label_of, locate, read_position
from closeout.readers.radio import read_driver
from closeout.readers.reader import Reader
from closeout.readers.usb_speed import read_below_ability

BUS: Final = "sys/bus/usb"
DEVICE: Final = late_pattern(r"usb\d+|\d+-\d+(\.\d+)*")
INTERFACE: Final = late_pattern(r"\d+-[\d.]+:\d+\.\d+")


def find_devices(tree: KernelTree) -> Listing:
    """The places of all devices; a machine whose kernel has no USB driver shows none."""
    bus = list_class(tree, BUS)
    if not (isinstance(bus, Value) and bus.value):
        return bus
    listing = list_folder(tree, f"{BUS}/devices")
    if not isinstance(listing, Value):
        return listing
    names = (name for name in listing.value if DEVICE.fullmatch(name))
    places = tuple(locate(tree, f"{BUS}/devices/{name}") for name in names)
    return Value(value=places, sources=listing.sources)


def read_device(tree: KernelTree, place: str) -> UsbDevice:
    """One device with the classes and drivers of its interfaces."""
    vendor = _read_digits(tree, f"{place}/idVendor", 4)
    product = _read_digits(tree, f"{place}/idProduct", 4)
    ids = combine(vendor, product, lambda left, right: f"{left}:{right}")
    names = read_names(tree, "usb", ids)
    interfaces = find_interfaces(tree, place)
    classes = _read_classes(tree, interfaces)
    drivers = _read_drivers(tree, interfaces)
    return UsbDevice(
        place=place,
        label=label_of(place),
        position=read_position(tree, place),
        ids=ids,
        vendor_name=_own_or_listed(tree, f"{place}/manufacturer", names.vendor),
        product_name=_own_or_listed(tree, f"{place}/product", names.device),
        serial=read_text(tree, f"{place}/serial"),
        device_class=_read_digits(tree, f"{place}/bDeviceClass", 2),
        interface_classes=classes,
        drivers=drivers,
        unbound=is_unbound(drivers, classes),
        speed_mbit=read_text(tree, f"{place}/speed"),
        usb_version=convert(read_text(tree, f"{place}/version"), str.strip),
        below_ability=read_below_ability(tree, place),
        firmware=understand(
            read_text(tree, f"{place}/bcdDevice"), "four hexadecimal digits", parse_release
        ),
    )


def find_interfaces(tree: KernelTree, place: str) -> Listing:
    """The folders of the device's interfaces in its present configuration."""
    inside = list_folder(tree, place)
    if not isinstance(inside, Value):
        return inside
    names = (name for name in inside.value if INTERFACE.fullmatch(name))
    return Value(value=tuple(f"{place}/{name}" for name in names), sources=inside.sources)


def is_unbound(
    drivers: Reading[tuple[str, ...]], classes: Reading[tuple[str, ...]]
) -> Reading[bool]:
    """No interface has a driver although the class of one usually has one."""
    if not isinstance(drivers, Value):
        return drivers
    if not isinstance(classes, Value):
        return classes
    sources = drivers.sources + classes.sources
    if not classes.value:
        return Absent(reason="the device shows no interface: not configured", sources=sources)
    usual = any(has_usual_driver(triple) for triple in classes.value)
    return Value(value=usual and not drivers.value, sources=sources)


def _read_digits(tree: KernelTree, path: str, digits: int) -> Reading[str]:
    wanted = f"{digits} hexadecimal digits"
    return understand(read_text(tree, path), wanted, lambda text: parse_hexadecimal(text, digits))


def _own_or_listed(tree: KernelTree, path: str, listed: Reading[str]) -> Reading[str]:
    ways = (lambda: read_text(tree, path), lambda: listed)
    return first_told(ways, "neither the device nor a file of names tells it")


def _read_classes(tree: KernelTree, interfaces: Listing) -> Reading[tuple[str, ...]]:
    if not isinstance(interfaces, Value):
        return interfaces
    triples: Reading[tuple[str, ...]] = Value(value=(), sources=interfaces.sources)
    for interface in interfaces.value:
        triples = combine(triples, _read_triple(tree, interface), lambda done, new: done + new)
    return triples


def _read_triple(tree: KernelTree, interface: str) -> Reading[tuple[str, ...]]:
    class_code = _read_digits(tree, f"{interface}/bInterfaceClass", 2)
    subclass = _read_digits(tree, f"{interface}/bInterfaceSubClass", 2)
    protocol = _read_digits(tree, f"{interface}/bInterfaceProtocol", 2)
    upper = combine(class_code, subclass, lambda left, right: f"{left}/{right}")
    triple = combine(upper, protocol, lambda left, right: f"{left}/{right}")
    return convert(triple, lambda text: (text,))


def _read_drivers(tree: KernelTree, interfaces: Listing) -> Reading[tuple[str, ...]]:
    """The drivers without repetition, in the order of the interfaces; none is an empty tuple."""
    if not isinstance(interfaces, Value):
        return interfaces
    names: dict[str, None] = {}
    sources = interfaces.sources
    for interface in interfaces.value:
        driver = read_driver(tree, interface)
        if isinstance(driver, Value):
            names[driver.value] = None
        elif not isinstance(driver, Absent):
            return driver
        sources += driver.sources
    return Value(value=tuple(names), sources=sources)


READERS: Final = (Reader(kind="usb_device", find=find_devices, read=read_device),)
