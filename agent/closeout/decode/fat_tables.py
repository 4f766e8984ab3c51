"""Whether the two allocation tables of a FAT32 file system agree as far as they must.

The kernel writes an entry into the first table and then into the second. Stopped between the two,
the second knows less: entries that are still free there, or a chain that still ends where it grew
since. Any other difference is damage, and whoever writes then may write over another file.

After fatgen103: the parameter block (page 9) and the entries (page 16).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from closeout.decode.failure import DecodeError
from closeout.model.frozen import frozen

WHAT: Final = "FAT tables"
PARAMETERS: Final = 64
ENTRY: Final = 4
MASK: Final = 0x0FFF_FFFF
CHAIN_ENDS: Final = 0x0FFF_FFF8
RESERVED_ENTRIES: Final = 2
"""The first two hold the media byte and the dirty bits."""
LARGEST_TABLE: Final = 256 << 20


@frozen
class Tables:
    """Where the tables are: bytes from the beginning of the volume, bytes of one, and how many."""

    begin: int
    size: int
    count: int


def decode_table_places(raw: bytes) -> Tables | None:
    """The places, out of the first sector; None where the file system is an earlier FAT."""
    if len(raw) < PARAMETERS:
        raise DecodeError(WHAT, len(raw), f"needs {PARAMETERS} bytes, got {len(raw)}")
    sector = int.from_bytes(raw[11:13], "little")
    if int.from_bytes(raw[22:24], "little"):
        return None
    size = int.from_bytes(raw[36:40], "little") * sector
    if not 0 < size <= LARGEST_TABLE:
        raise DecodeError(WHAT, 36, f"a table of {size} bytes")
    return Tables(begin=int.from_bytes(raw[14:16], "little") * sector, size=size, count=raw[16])


def describe_difference(first: bytes, second: bytes) -> int | None:
    """The first cluster of which the tables say what no stopped write leaves; None for none."""
    if first == second:
        return None
    return next(_damaged(first, second), None)


def _damaged(first: bytes, second: bytes) -> Iterator[int]:
    for cluster in range(RESERVED_ENTRIES, min(len(first), len(second)) // ENTRY):
        place = slice(cluster * ENTRY, (cluster + 1) * ENTRY)
        if first[place] == second[place]:
            continue
        newer = int.from_bytes(first[place], "little") & MASK
        older = int.from_bytes(second[place], "little") & MASK
        has_grown = older >= CHAIN_ENDS and newer >= RESERVED_ENTRIES
        if older and older != newer and not has_grown:
            yield cluster
