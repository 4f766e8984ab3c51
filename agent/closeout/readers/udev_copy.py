"""What udev's database says of a block device: a copy of the kernel's own answers, and names."""

from __future__ import annotations

from collections.abc import Mapping

from closeout.decode.udev_properties import decode_udev_properties
from closeout.kernel.tree import KernelTree
from closeout.model.reading import Reading, Value, convert
from closeout.readers.attributes import read_bytes, read_text


def read_udev(tree: KernelTree, place: str) -> Reading[Mapping[str, str]]:
    """What udev's database says of the block device at a place."""
    number = read_text(tree, f"{place}/dev")
    if not isinstance(number, Value):
        return number
    return convert(read_bytes(tree, f"run/udev/data/b{number.value}"), decode_udev_properties)
