"""What firmware describes and is there, and chips on I2C, SPI and SDIO, with their drivers.

Kernel paths: `sys/bus/acpi/devices/ID:NN` with `status` (the value of _STA, ACPI 6.5, section
6.3.7), `path` and `modalias` (Documentation/ABI/testing/sysfs-bus-acpi), `driver`, and
`physical_node` (Documentation/firmware-guide/acpi/namespace.rst); `sys/bus/i2c/devices/*`, and
those of spi and sdio.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from closeout.decode.acpi_ids import has_usual_driver, stands_for_a_part
from closeout.decode.modalias import parse_modalias
from closeout.kernel.failure import ReadError
from closeout.kernel.tree import KernelTree
from closeout.model.buses import BusDevice
from closeout.model.inventory import Listing
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Absent, Reading, Value, convert
from closeout.readers.attributes import (
    list_class,
    list_folder,
    read_integer,
    read_link_name,
    read_text,
)
from closeout.readers.first_told import first_told
from closeout.readers.places import label_of, locate, read_position
from closeout.readers.radio import read_driver
from closeout.readers.reader import Reader

ACPI: Final = "sys/bus/acpi"
CHIP_BUSES: Final = ("i2c", "spi", "sdio")
HOST: Final = late_pattern(r"(i2c|spi)-?\d+|mmc\d+")
"""The adapter of a bus, listed among its devices."""
NODES: Final = (f"{ACPI}/", "sys/devices/LNXSYSTM:")
"""Where the nodes of the ACPI name space are."""
PRESENT: Final = 1
"""Bit 0 of _STA: the device is present."""
NODE_WITHOUT_ID: Final = "device:"


def find_devices(tree: KernelTree) -> Listing:
    """The places of all; a bus that cannot be listed makes the whole list unread."""
    listing = _on_bus(tree, ACPI)
    if not isinstance(listing, Value):
        return listing
    names = (name for name in listing.value if stands_for_a_part(name.partition(":")[0]))
    places = [locate(tree, f"{ACPI}/devices/{name}") for name in names if _is_there(tree, name)]
    sources = listing.sources
    for bus in CHIP_BUSES:
        chips = _on_bus(tree, f"sys/bus/{bus}")
        if not isinstance(chips, Value):
            return chips
        places += _chips(tree, bus, chips.value)
        sources += chips.sources
    return Value(value=tuple(places), sources=sources)


def read_device(tree: KernelTree, place: str) -> BusDevice:
    """One device with its ids and its driver."""
    hardware = _hardware(tree, place)
    driver = first_told(
        (lambda: read_driver(tree, place), lambda: read_driver(tree, hardware)),
        "no driver is bound",
    )
    ids = _read_ids(tree, place)
    return BusDevice(
        place=place,
        label=label_of(place),
        position=read_position(tree, hardware),
        bus=read_link_name(tree, f"{hardware}/subsystem"),
        ids=ids,
        firmware_path=read_text(tree, f"{place}/path"),
        driver=driver,
        unbound=is_unbound(driver, ids, is_chip=not place.startswith(NODES)),
    )


def is_unbound(
    driver: Reading[str], ids: Reading[tuple[str, ...]], *, is_chip: bool
) -> Reading[bool]:
    """No driver is bound, although a chip, and a part with an id of a standard, usually has one."""
    if not isinstance(driver, Absent):
        return convert(driver, lambda _: False)
    if is_chip:
        return Value(value=True, sources=driver.sources)
    usual = convert(ids, has_usual_driver)
    if isinstance(usual, Absent):
        return Value(value=False, sources=driver.sources + usual.sources)
    return usual


def _on_bus(tree: KernelTree, bus: str) -> Listing:
    """The names of a bus's devices; a kernel without the bus has none."""
    inside = list_class(tree, bus)
    if not (isinstance(inside, Value) and inside.value):
        return inside
    return list_folder(tree, f"{bus}/devices")


def _is_there(tree: KernelTree, name: str) -> bool:
    """Without _STA a device is there; where it cannot be read, it may be."""
    status = read_integer(tree, f"{ACPI}/devices/{name}/status")
    return not isinstance(status, Value) or bool(status.value & PRESENT)


def _chips(tree: KernelTree, bus: str, names: tuple[str, ...]) -> Iterator[str]:
    """Those that the firmware does not describe: they are in its list already."""
    for name in names:
        path = f"sys/bus/{bus}/devices/{name}"
        if not HOST.fullmatch(name) and not _is_described(tree, path):
            yield locate(tree, path)


def _is_described(tree: KernelTree, path: str) -> bool:
    try:
        node = label_of(tree.target(f"{path}/firmware_node"))
    except ReadError:
        return False
    return not node.startswith(NODE_WITHOUT_ID)


def _hardware(tree: KernelTree, place: str) -> str:
    """The device that an ACPI node describes, else the place itself."""
    try:
        return tree.target(f"{place}/physical_node")
    except ReadError:
        return place


def _read_ids(tree: KernelTree, place: str) -> Reading[tuple[str, ...]]:
    """Those of the `modalias`; the kernel writes none for a node without ids."""
    ids = convert(read_text(tree, f"{place}/modalias"), parse_modalias)
    if isinstance(ids, Value) and not ids.value:
        return Absent(reason="its bus gives no ids", sources=ids.sources)
    return ids


READERS: Final = (Reader(kind="bus_device", find=find_devices, read=read_device),)
