"""Which of a device's video nodes give pictures.

Kernel files: `videoN/{dev,index}`; what udev found out is in `run/udev/data/cMAJOR:MINOR`
(`ID_V4L_CAPABILITIES`, written by its v4l_id).
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from closeout.decode.udev_properties import decode_udev_properties
from closeout.kernel.tree import KernelTree
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Absent, Reading, Value, combine, convert
from closeout.readers.attributes import list_folder, read_bytes, read_integer, read_text

NODE: Final = late_pattern(r"video\d+")
CAPABILITIES: Final = "ID_V4L_CAPABILITIES"
CAPTURE: Final = ":capture:"


def read_captures(tree: KernelTree, folder: str, *, is_usb: bool) -> Reading[Mapping[str, bool]]:
    """For each node of a device by its name, whether it gives pictures."""
    listing = list_folder(tree, folder)
    if not isinstance(listing, Value):
        return listing
    found: Reading[dict[str, bool]] = Value(value={}, sources=listing.sources)
    for name in listing.value:
        if NODE.fullmatch(name):
            told = _read_capture(tree, f"{folder}/{name}", is_usb=is_usb)
            found = combine(found, _named(told, name), lambda done, one: done | one)
    return convert(found, lambda nodes: nodes)


def _named(told: Reading[bool], name: str) -> Reading[dict[str, bool]]:
    return convert(told, lambda gives: {name: gives})


def _read_capture(tree: KernelTree, node: str, *, is_usb: bool) -> Reading[bool]:
    """By udev, else by the order in which the driver of USB cameras makes its nodes."""
    by_udev = _read_by_udev(tree, node)
    if not isinstance(by_udev, Absent) or not is_usb:
        return by_udev
    return convert(read_integer(tree, f"{node}/index"), _is_even)


def _is_even(index: int) -> bool:
    """Each stream makes its node, then that of its metadata.

    So uvc_register_terms in drivers/media/usb/uvc/uvc_driver.c.
    """
    return index % 2 == 0


def _read_by_udev(tree: KernelTree, node: str) -> Reading[bool]:
    number = read_text(tree, f"{node}/dev")
    if not isinstance(number, Value):
        return convert(number, bool)
    record = read_bytes(tree, f"run/udev/data/c{number.value}")
    told = convert(convert(record, decode_udev_properties), lambda found: found.get(CAPABILITIES))
    if not isinstance(told, Value):
        return told
    if told.value is None:
        return Absent(reason="udev did not look into the node", sources=told.sources)
    return Value(value=CAPTURE in told.value, sources=told.sources)
