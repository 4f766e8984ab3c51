"""The kernel's list of CPUs, `proc/cpuinfo`: one block of `name : value` lines for each.

Format: arch/x86/kernel/cpu/proc.c (show_cpuinfo); other architectures name other lines.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from closeout.decode.numerals import parse_whole

NUMBER: Final = "processor"


def decode_cpuinfo(text: str) -> Mapping[int, Mapping[str, str]]:
    """The lines of each CPU by its number; total, blocks without a number are left out."""
    found: dict[int, Mapping[str, str]] = {}
    for block in text.split("\n\n"):
        lines = _lines(block)
        number = parse_whole(lines.get(NUMBER, ""))
        if number is not None:
            found.setdefault(number, lines)
    return found


def _lines(block: str) -> dict[str, str]:
    lines: dict[str, str] = {}
    for line in block.split("\n"):
        name, marked, value = line.partition(":")
        if marked:
            lines.setdefault(name.strip(), value.strip())
    return lines
