"""The table of interrupts: rows of a name, a count for each processor, and a description.

Kernel file `/proc/interrupts` (Documentation/filesystems/proc.rst). The first line names the
processors that are online; rows such as `ERR` and `MIS` have one count for all of them.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from closeout.decode.failure import DecodeError
from closeout.decode.plain_text import decode_text
from closeout.model.late_pattern import late_pattern

PROCESSOR: Final = late_pattern(r"CPU[0-9]+")
ROW: Final = late_pattern(r"\s*([^\s:]+):(.*)")
COUNT: Final = late_pattern(r"[0-9]{1,20}")


def decode_interrupts(raw: bytes) -> Mapping[str, int]:
    """Row to its count over all processors; rows without any count are left out.

    Raises DecodeError where the bytes are no such table.
    """
    heading, *lines = decode_text(raw).split("\n")
    processors = heading.split()
    if not processors or not all(map(PROCESSOR.fullmatch, processors)):
        raise DecodeError("interrupts", 0, "a line that names the processors was expected")
    sums: dict[str, int] = {}
    for line in lines:
        found = ROW.fullmatch(line)
        if found is None:
            continue
        counts: list[int] = []
        for word in found[2].split()[: len(processors)]:
            if COUNT.fullmatch(word) is None:
                break
            counts.append(int(word))
        if counts:
            sums[found[1]] = sum(counts)
    return sums
