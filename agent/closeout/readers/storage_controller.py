"""What drives are behind on the PCI bus, and whether its mode keeps them from this system.

Kernel paths: `sys/bus/pci/devices/*` of class 01h, and 0805h for hosts of memory cards (PCI Code
and ID Assignment Specification 1.11); `remapped_nvme` counts the NVMe drives that an AHCI function
in RAID mode keeps to itself (drivers/ata/ahci.c). A RAID function that a driver serves shows its
drives in folders below it, on a bus of its own or not; where none shows, its mode hides them.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from closeout.kernel.tree import KernelTree
from closeout.model.inventory import Listing
from closeout.model.reading import Absent, Reading, Unreadable, Value, combine, convert
from closeout.model.storage import StorageController
from closeout.readers.attributes import read_integer
from closeout.readers.pci_devices import find_functions, read_class, read_ids
from closeout.readers.places import label_of, read_position
from closeout.readers.radio import read_driver
from closeout.readers.reader import Reader
from closeout.readers.storage import find_drives

RAID: Final = "raid"
MODES: Final[Mapping[str, str]] = {
    "0100": "scsi",
    "0101": "ide",
    "0104": RAID,
    "0105": "ata",
    "010601": "ahci",
    "0106": "sata",
    "0107": "sas",
    "010802": "nvme",
    "0108": "non-volatile memory",
    "0109": "ufs",
    "0805": "sd host",
}
"""Starts of class codes, the longer before the shorter."""
STORAGE: Final = ("01", "0805")
OTHER: Final = "other"


def find_controllers(tree: KernelTree) -> Listing:
    """The functions of such a class; one whose class is not known could be another."""
    functions = find_functions(tree)
    if not isinstance(functions, Value):
        return functions
    classes = {place: read_class(tree, place) for place in functions.value}
    for code in classes.values():
        if isinstance(code, Unreadable):
            return code
    found = tuple(
        place
        for place, code in classes.items()
        if isinstance(code, Value) and code.value.startswith(STORAGE)
    )
    return Value(value=found, sources=functions.sources)


def read_controller(tree: KernelTree, place: str) -> StorageController:
    """One controller with the drives that show behind it."""
    class_code = read_class(tree, place)
    driver = read_driver(tree, place)
    drives = read_drives_behind(tree, place)
    remapped = _read_remapped(tree, place)
    return StorageController(
        place=place,
        label=label_of(place),
        position=read_position(tree, place),
        mode=convert(class_code, _mode),
        ids=read_ids(tree, place),
        class_code=class_code,
        driver=driver,
        drives=drives,
        remapped_drives=remapped,
        hides_drives=hides_drives(class_code, driver, drives, remapped),
    )


def read_drives_behind(tree: KernelTree, place: str) -> Reading[tuple[str, ...]]:
    """The labels of the drives in folders below the function's own."""
    drives = find_drives(tree)
    if not isinstance(drives, Value):
        return drives
    behind = tuple(label_of(drive) for drive in drives.value if drive.startswith(f"{place}/"))
    return Value(value=behind, sources=drives.sources)


def hides_drives(
    class_code: Reading[str],
    driver: Reading[str],
    drives: Reading[tuple[str, ...]],
    remapped: Reading[int],
) -> Reading[bool]:
    """Whether drives are there that this system cannot see, as far as the mode tells."""
    if isinstance(remapped, Unreadable):
        return remapped
    if isinstance(remapped, Value) and remapped.value:
        return Value(value=True, sources=remapped.sources)
    mode = convert(class_code, _mode)
    if not isinstance(mode, Value) or mode.value != RAID:
        return convert(mode, lambda _: False)
    if isinstance(driver, Absent):
        return Value(value=True, sources=mode.sources + driver.sources)
    shows_none = convert(drives, lambda labels: not labels)
    return combine(convert(driver, lambda _: True), shows_none, lambda bound, none: bound and none)


def _mode(code: str) -> str:
    return next((words for start, words in MODES.items() if code.startswith(start)), OTHER)


def _read_remapped(tree: KernelTree, place: str) -> Reading[int]:
    count = read_integer(tree, f"{place}/remapped_nvme")
    if isinstance(count, Absent):
        return Absent(reason="its driver keeps no such count", sources=count.sources)
    return count


READERS: Final = (Reader(kind="storage_controller", find=find_controllers, read=read_controller),)
