"""Drives: NVMe controllers and the disks of the block class.

Kernel paths: `sys/class/nvme/*` and `sys/block/*` (Documentation/ABI/stable/sysfs-block).
Namespaces belong to their controller; loop, memory and mapped devices are no drives.
"""

from __future__ import annotations

from typing import Final

from closeout.kernel.failure import ReadError
from closeout.kernel.tree import KernelTree
from closeout.model.inventory import Listing
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Value
from closeout.model.storage import Drive
from closeout.readers.attributes import list_class, list_folder, read_flag, read_integer
from closeout.readers.places import label_of, locate
from closeout.readers.reader import Reader
from closeout.readers.storage_nvme import CONTROLLER, NAMESPACE, read_controller

NVME: Final = "sys/class/nvme"
BLOCK: Final = "sys/block"
NO_DRIVE: Final = late_pattern(r"(loop|ram|zram|dm-|md|nbd|sr|fd)\d+|mmcblk\d+(boot\d+|gp\d+|rpmb)")
"""Devices without hardware, optical and floppy drives, and the hidden areas of an eMMC."""


def find_drives(tree: KernelTree) -> Listing:
    """The places of all drives; both classes have to be listed for an answer."""
    controllers = list_class(tree, NVME)
    if not isinstance(controllers, Value):
        return controllers
    blocks = list_folder(tree, BLOCK)
    if not isinstance(blocks, Value):
        return blocks
    paths = [f"{NVME}/{name}" for name in controllers.value if CONTROLLER.fullmatch(name)]
    has_controllers = bool(paths)
    paths += [
        f"{BLOCK}/{name}"
        for name in blocks.value
        if not (has_controllers and NAMESPACE.fullmatch(name)) and is_drive(tree, name)
    ]
    places = tuple(locate(tree, path) for path in paths)
    return Value(value=places, sources=controllers.sources + blocks.sources)


def is_drive(tree: KernelTree, name: str) -> bool:
    """Hardware stands behind the block device, and it is no card reader without a card."""
    if NO_DRIVE.fullmatch(name) or not _has_hardware(tree, f"{BLOCK}/{name}"):
        return False
    size = read_integer(tree, f"{BLOCK}/{name}/size")
    if not isinstance(size, Value) or size.value != 0:
        return True
    removable = read_flag(tree, f"{BLOCK}/{name}/removable")
    return not (isinstance(removable, Value) and removable.value)


def _has_hardware(tree: KernelTree, block: str) -> bool:
    """It has a `device` link; in a copy without links, a `device` folder."""
    for question in (tree.target, tree.names):
        try:
            question(f"{block}/device")
        except ReadError:
            continue
        return True
    return False


def read_drive(tree: KernelTree, place: str) -> Drive:
    """One drive, by the files of its class."""
    if CONTROLLER.fullmatch(label_of(place)):
        read = read_controller
    else:
        from closeout.readers.storage_disk import read_disk as read  # noqa: PLC0415 - seldom there
    return read(tree, place)


READERS: Final = (Reader(kind="drive", find=find_drives, read=read_drive),)
