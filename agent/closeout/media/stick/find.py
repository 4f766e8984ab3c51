"""Which partition is the stick: found by what the kernel says of the bus it is on.

The rule: only a partition, or a disk without any, that hangs on USB and is not built in, or whose
disk the kernel calls removable. A copy of the stick on the unit's own disk can so never be taken
for it; and where two answer, none is taken.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Final, TypeAlias

from closeout.decode.failure import DecodeError
from closeout.decode.fat_boot import FatVolume, decode_fat_boot
from closeout.kernel.failure import ReadError
from closeout.kernel.tree import KernelTree
from closeout.media.shared import LABEL
from closeout.model.frozen import frozen

CLASS: Final = "sys/class/block"
USB_BUS: Final = re.compile(r"usb\d+")
USB_DEVICE: Final = re.compile(r"\d+-\d+(\.\d+)*")
MOST_SHOWN: Final = 4
ROOT_ALONE: Final = "only root can look for a stick: start it with sudo"

ReadStart: TypeAlias = Callable[[str], bytes]
"""The first sector of a device by its name; raises OSError."""


@frozen
class Volume:
    """A FAT file system that may be the stick: `device` by its name under /dev."""

    device: str
    volume_id: str
    label: str


@frozen
class NoStick:
    """Why there is none that could be taken, in one line that says what to do."""

    why: str


def find_stick(tree: KernelTree, read_start: ReadStart, volume_id: str) -> Volume | NoStick:
    """The stick with this volume id; without an id the one that is labelled as ours."""
    try:
        volumes = tuple(find_volumes(tree, read_start))
    except PermissionError:
        return NoStick(why=ROOT_ALONE)
    if volume_id:
        named = tuple(volume for volume in volumes if volume.volume_id == volume_id.upper())
        wanted = f"the stick {volume_id.upper()}"
    else:
        named = tuple(volume for volume in volumes if volume.label == LABEL)
        wanted = f"a stick labelled {LABEL}"
    if len(named) == 1:
        return named[0]
    if named:
        devices = " and ".join(volume.device for volume in named[:MOST_SHOWN])
        return NoStick(why=f"{devices} both answer as {wanted}: pull out all but one")
    return NoStick(why=f"{wanted} is not there: put it in")


def find_volumes(tree: KernelTree, read_start: ReadStart) -> Iterator[Volume]:
    """Every FAT file system on something that can be pulled out.

    Raises PermissionError where one is there that may not be looked at.
    """
    try:
        names = tree.names(CLASS)
    except ReadError:
        return
    for name in names:
        if not is_pulled_out(tree, name) or has_partitions(tree, name):
            continue
        try:
            volume = decode_fat_boot(read_start(name))
        except PermissionError:
            raise
        except (OSError, DecodeError):
            continue
        yield _volume(name, volume)


def is_pulled_out(tree: KernelTree, name: str) -> bool:
    """Whether it is on USB and not built in, or its disk is called removable."""
    try:
        place = tree.target(f"{CLASS}/{name}")
    except ReadError:
        return False
    steps = place.split("/")
    if "virtual" in steps:  # loop, RAM, device mapper: made of something else
        return False
    if any(map(USB_BUS.fullmatch, steps)):
        return not _is_built_in(tree, steps)
    is_partition = _text(tree, f"{place}/partition") != ""
    disk = place.rpartition("/")[0] if is_partition else place
    return _text(tree, f"{disk}/removable") == "1"


def has_partitions(tree: KernelTree, name: str) -> bool:
    """Whether it is a disk that is parted: its first sector is no file system's."""
    try:
        place = tree.target(f"{CLASS}/{name}")
        inside = tree.names(place)
    except ReadError:
        return True
    return any(_text(tree, f"{place}/{one}/partition") for one in inside if one.startswith(name))


def _is_built_in(tree: KernelTree, steps: list[str]) -> bool:
    """Whether the firmware says that the port is hardwired (USB's `removable`: fixed)."""
    return any(
        _text(tree, f"{'/'.join(steps[: at + 1])}/removable") == "fixed"
        for at, step in enumerate(steps)
        if USB_DEVICE.fullmatch(step)
    )


def _text(tree: KernelTree, path: str) -> str:
    try:
        return tree.read(path).decode("ascii", "replace").strip()
    except ReadError:
        return ""


def _volume(name: str, volume: FatVolume) -> Volume:
    return Volume(device=name, volume_id=volume.volume_id, label=volume.label)
