"""What the kernel has of the memory: what it manages, and the blocks that are online.

Kernel paths: `proc/meminfo` (Documentation/filesystems/proc.rst), and
`sys/devices/system/memory/` (Documentation/ABI/testing/sysfs-devices-memory,
Documentation/admin-guide/mm/memory-hotplug.rst).
"""

from __future__ import annotations

import re
from typing import Final

from closeout.kernel.tree import KernelTree
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Absent, Reading, Unreadable, Value
from closeout.readers.attributes import list_folder, read_text, understand

MEMINFO: Final = "proc/meminfo"
MEM_TOTAL: Final = late_pattern(r"^MemTotal:\s+(\d{1,15}) kB$", re.MULTILINE)
MEM_AVAILABLE: Final = late_pattern(r"^MemAvailable:\s+(\d{1,15}) kB$", re.MULTILINE)
KIB: Final = 1024
BLOCKS: Final = "sys/devices/system/memory"
BLOCK: Final = late_pattern(r"memory[0-9]+")
BLOCK_SIZE: Final = f"{BLOCKS}/block_size_bytes"
HEXADECIMAL: Final = late_pattern(r"[0-9a-fA-F]{1,12}")
ONLINE: Final = "online"


def read_kernel_total(tree: KernelTree) -> Reading[int]:
    """Bytes that the kernel manages: `MemTotal`, which it writes in KiB and calls kB."""
    return understand(read_text(tree, MEMINFO), "a line MemTotal in kB", _parse_total)


def read_available(tree: KernelTree) -> Reading[int]:
    """Bytes that a program could still have, as the kernel reckons: `MemAvailable`."""
    return understand(read_text(tree, MEMINFO), "a line MemAvailable in kB", _parse_available)


def _parse_available(text: str) -> int | None:
    found = MEM_AVAILABLE.search(text)
    return int(found[1]) * KIB if found else None


def _parse_total(text: str) -> int | None:
    found = MEM_TOTAL.search(text)
    return int(found[1]) * KIB if found else None


def read_online(tree: KernelTree) -> Reading[int]:
    """Bytes of all blocks that are online; a block that does not tell leaves the sum open."""
    size = understand(read_text(tree, BLOCK_SIZE), "a hexadecimal number", _parse_size)
    listing = list_folder(tree, BLOCKS)
    if not isinstance(size, Value):
        return size
    if not isinstance(listing, Value):
        return listing
    online = 0
    for block in filter(BLOCK.fullmatch, listing.value):
        state = read_text(tree, f"{BLOCKS}/{block}/state")
        if isinstance(state, Unreadable):
            return state
        online += isinstance(state, Value) and state.value == ONLINE
    sources = (*size.sources, *listing.sources)
    if not online:
        return Absent(reason="the kernel shows no memory block that is online", sources=sources)
    return Value(value=online * size.value, sources=sources)


def _parse_size(text: str) -> int | None:
    """Hexadecimal without `0x`."""
    return int(text, 16) if HEXADECIMAL.fullmatch(text) else None
