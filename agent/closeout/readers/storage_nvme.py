"""One NVMe controller with its namespaces.

Kernel path: `sys/class/nvme/nvmeN` (drivers/nvme/host/core.c); model, serial and firmware
revision are padded with spaces to 40, 20 and 8 characters (NVM Express base specification,
Identify Controller).
"""

from __future__ import annotations

import re
from collections.abc import Callable
from operator import add
from typing import Final, TypeVar

from closeout.kernel.tree import KernelTree
from closeout.model.inventory import Listing
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Absent, Reading, Value, combine, convert
from closeout.model.storage import Drive
from closeout.readers.attributes import list_folder, read_flag, read_integer, read_text
from closeout.readers.drive_answers import with_health
from closeout.readers.nvme_health import read_nvme_health
from closeout.readers.placeholder import sort_text
from closeout.readers.places import label_of, read_position

T = TypeVar("T")

CONTROLLER: Final = late_pattern(r"nvme\d+")
NAMESPACE: Final = late_pattern(r"nvme(\d+)(?:c\d+)?n(\d+)")
"""`nvme0n1`, and `nvme0c0n1` where the kernel keeps a path of a shared namespace apart."""
SECTOR_BYTES: Final = 512
"""What the block class counts in, whatever the drive's own block size."""


def read_controller(tree: KernelTree, place: str) -> Drive:
    """One controller; its size is the sum of its namespaces."""
    namespaces = find_namespaces(tree, place)
    drive = Drive(
        place=place,
        label=label_of(place),
        position=read_position(tree, place),
        bus=Value(value="nvme", sources=(place,)),
        model=_read_padded(tree, f"{place}/model"),
        serial=sort_text(_read_padded(tree, f"{place}/serial"), "Drive/Serial Number"),
        firmware=_read_padded(tree, f"{place}/firmware_rev"),
        size_bytes=_read_size(tree, namespaces),
        state=read_text(tree, f"{place}/state"),
        rotational=_ask_first(namespaces, lambda path: read_flag(tree, f"{path}/queue/rotational")),
        removable=_ask_first(namespaces, lambda path: read_flag(tree, f"{path}/removable")),
    )
    return with_health(drive, read_nvme_health(tree, place, namespaces))


def find_namespaces(tree: KernelTree, place: str) -> Listing:
    """The folders of the controller's namespaces.

    They are folders of the controller; a shared namespace has its block device elsewhere. Where
    the controller's folder shows none, the block class is searched by the controller's name.
    """
    inside = list_folder(tree, place)
    if not isinstance(inside, Value):
        return inside
    paths = {_namespace_path(place, name) for name in inside.value} - {""}
    if paths:
        return Value(value=tuple(sorted(paths)), sources=inside.sources)
    blocks = list_folder(tree, "sys/block")
    if not isinstance(blocks, Value):
        return blocks
    own = re.compile(rf"{re.escape(label_of(place))}n\d+")
    found = tuple(f"sys/block/{name}" for name in blocks.value if own.fullmatch(name))
    return Value(value=found, sources=inside.sources + blocks.sources)


def _namespace_path(place: str, name: str) -> str:
    found = NAMESPACE.fullmatch(name)
    if found is None:
        return ""
    head = f"nvme{found.group(1)}n{found.group(2)}"
    return f"{place}/{name}" if name == head else f"sys/block/{head}"


def _read_padded(tree: KernelTree, path: str) -> Reading[str]:
    return convert(read_text(tree, path), str.strip)


def _read_size(tree: KernelTree, namespaces: Listing) -> Reading[int]:
    size = _ask_first(namespaces, lambda path: read_integer(tree, f"{path}/size"))
    rest = namespaces.value[1:] if isinstance(namespaces, Value) else ()
    for path in rest:
        size = combine(size, read_integer(tree, f"{path}/size"), add)
    return convert(size, lambda sectors: sectors * SECTOR_BYTES)


def _ask_first(namespaces: Listing, ask: Callable[[str], Reading[T]]) -> Reading[T]:
    if not isinstance(namespaces, Value):
        return namespaces
    if not namespaces.value:
        return Absent(reason="the controller shows no namespace", sources=namespaces.sources)
    return ask(namespaces.value[0])
