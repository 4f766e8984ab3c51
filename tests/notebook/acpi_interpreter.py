"""What ACPI methods return, by ACPICA's own interpreter (`acpiexec`): an oracle without a kernel.

It gives each operation region memory of zeros of its own, so a table sees the control page only
where a second table has filled it in.
"""

import re
import shutil
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from textwrap import dedent
from typing import Final

from notebook.control_page import BASE, PAGE_LENGTH

DISPLAY: Final = dedent("""
    DefinitionBlock ("", "DSDT", 2, "CLSOUT", "DISPLAY", 1)
    {
        Device (\\_SB.PCI0)
        {
            Name (_HID, EisaId ("PNP0A08"))
            Device (S08) { Name (_ADR, 0x00010000) }
        }
    }
""")
"""The one node of the emulator's table that a notebook's table builds on."""

EVALUATED: Final = re.compile(r"^Evaluation of \S+ returned object", re.MULTILINE)
RETURNED: Final = re.compile(r'\[Integer\] = ([0-9A-F]{16})|\[String\] Length \w+ = "(.*)"')
NOTIFIED: Final = re.compile(r"Notify on \[(\w+)\] \S+ Value (0x\w+)")
ESCAPED: Final = re.compile(r"\\(.)")

Returned = tuple[int | str, ...]
"""What a method returned, a package as its members."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Evaluation:
    """What the methods returned, in their order, and whom they notified of what meanwhile."""

    returned: tuple[Returned, ...]
    notified: frozenset[tuple[str, int]]


def reason_to_skip() -> str:
    return "" if shutil.which("acpiexec") else "acpiexec (package acpica-tools) is not installed"


def page_filler(raw: bytes) -> str:
    """The source of a table whose method FILL writes these bytes where the control page is."""
    told = ", ".join(map(str, raw.ljust(PAGE_LENGTH, b"\0")))
    return dedent(f"""
        DefinitionBlock ("", "SSDT", 2, "CLSOUT", "FILLER", 1)
        {{
            OperationRegion (\\FILR, SystemMemory, {BASE:#x}, {PAGE_LENGTH:#x})
            Field (\\FILR, ByteAcc, NoLock, Preserve) {{ FILB, {PAGE_LENGTH * 8} }}
            Method (\\FILL) {{ FILB = Buffer () {{ {told} }} Return (1) }}
        }}
    """)


def evaluate(tables: Sequence[Path], methods: Sequence[str]) -> Evaluation:
    """The methods one after the other; the first table is the DSDT."""
    lines = [f"evaluate {method}" for method in methods]
    done = subprocess.run(
        ["acpiexec", *map(str, tables)],
        input="\n".join((*lines, "quit", "")),
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    _, *told = EVALUATED.split(done.stdout)
    notified = NOTIFIED.findall(done.stdout)
    return Evaluation(
        returned=tuple(map(_returned, told)),
        notified=frozenset((device.rstrip("_"), int(value, 16)) for device, value in notified),
    )


def _returned(told: str) -> Returned:
    return tuple(
        int(number, 16) if number else ESCAPED.sub(r"\1", text)
        for number, text in RETURNED.findall(told)
    )
