"""Lists of CPU numbers as the kernel writes them: `0-3,8`.

Format: Documentation/core-api/printk-formats.rst, bitmap and its derivatives (`%*pbl`);
Documentation/admin-guide/cputopology.rst for the files.
"""

from __future__ import annotations

from typing import Final

from closeout.model.late_pattern import late_pattern

MOST_CPUS: Final = 65_536
"""More than any kernel can be built for (8192 on x86), so that no text makes a list without end."""
SPAN: Final = late_pattern(r"([0-9]{1,5})(?:-([0-9]{1,5}))?")


def decode_cpu_list(text: str) -> tuple[int, ...] | None:
    """The numbers in rising order, none twice; None where the text is no such list."""
    if not text.strip():
        return ()
    numbers: set[int] = set()
    for part in text.strip().split(","):
        span = SPAN.fullmatch(part)
        if span is None:
            return None
        first, last = int(span[1]), int(span[2] or span[1])
        if not first <= last < MOST_CPUS:
            return None
        numbers.update(range(first, last + 1))
    return tuple(sorted(numbers))
