"""Every write to a stick, in its order, as the emulator noted it; and the stick after each of them.

The log is that of dm-log-writes (Documentation/admin-guide/device-mapper/log-writes.rst and
drivers/md/dm-log-writes.c): a super block, then each entry in a sector of its own with what was
written behind it.
"""

import struct
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

SECTOR: Final = 512
SUPER: Final = struct.Struct("<QQQI")
ENTRY: Final = struct.Struct("<QQQQ")
MAGIC: Final = 0x6A736677736872
DISCARD: Final = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Write:
    """One sector as it was written: `number` is its place on the stick, `entry` that in the log."""

    entry: int
    number: int
    content: bytes


def count_entries(log: Path) -> int:
    """How many entries there are so far, flushes too."""
    with log.open("rb") as opened:
        magic, _, entries, sector = SUPER.unpack(opened.read(SUPER.size))
    assert (magic, sector) == (MAGIC, SECTOR)
    return int(entries)


def sectors_written(log: Path) -> Iterator[Write]:
    """Each sector of each entry, in order; a stick that is pulled may have taken any of them."""
    with log.open("rb") as opened:
        entries = count_entries(log)
        opened.seek(SECTOR)
        for entry in range(entries):
            place, count, flags, _ = ENTRY.unpack(opened.read(SECTOR)[: ENTRY.size])
            if flags & DISCARD:
                raise AssertionError(f"entry {entry} discards {count} sectors")
            for number in range(count):
                yield Write(entry=entry, number=place + number, content=opened.read(SECTOR))
