"""What dmidecode says of a dump (`dmidecode --from-dump FILE`), parsed from its text."""

import re
import shutil
import subprocess
from dataclasses import dataclass
from pathlib import Path
from typing import Final

HANDLE: Final = re.compile(r"Handle 0x([0-9A-F]+), DMI type (\d+), (\d+) bytes")
FIRST_PRINTABLE: Final = 0x20
DELETE: Final = 0x7F


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedStructure:
    """One structure as printed: labels with their text, and the lines listed under a label."""

    handle: int
    type: int
    length: int
    texts: dict[str, str]
    lists: dict[str, tuple[str, ...]]


def reason_to_skip() -> str:
    return "" if shutil.which("dmidecode") else "dmidecode is not installed"


def run_dmidecode(dump: Path) -> str:
    """Its whole output; strings keep every byte that it prints."""
    done = subprocess.run(
        ["dmidecode", "--from-dump", str(dump)], capture_output=True, check=True, timeout=30
    )
    return done.stdout.decode("latin-1")


def parse_dmidecode(text: str) -> tuple[PrintedStructure, ...]:
    """Every structure that is printed, in order."""
    structures: list[PrintedStructure] = []
    label = ""
    for line in text.split("\n"):
        header = HANDLE.match(line)
        if header:
            handle, number, length = header.groups()
            structures.append(
                PrintedStructure(
                    handle=int(handle, 16), type=int(number), length=int(length), texts={}, lists={}
                )
            )
        elif line.startswith("\t\t"):
            lines = structures[-1].lists
            lines[label] = (*lines.get(label, ()), line.removeprefix("\t\t"))
        elif line.startswith("\t"):
            label, _, value = line.removeprefix("\t").partition(":")
            structures[-1].texts[label] = value.removeprefix(" ")
    return tuple(structures)


def printed(raw: bytes) -> str:
    """A string of the table as dmidecode prints it: a dot for every byte that is not ASCII."""
    return "".join(chr(byte) if FIRST_PRINTABLE <= byte < DELETE else "." for byte in raw)
