"""ACPI tables as the disassembler of acpica-tools reads them (`iasl -d`).

Only header fields, the checksum remark and the raw bytes are taken: the line of the licensing
structure is printed wrongly by some builds.
"""

import re
import shutil
import subprocess
from dataclasses import dataclass
from pathlib import Path

FIELD = re.compile(r"^\[\w+ \d+ +\w+\] +(?P<name>[^:]+?) : (?P<value>.*)$", re.MULTILINE)
REMARK = re.compile(r"Incorrect checksum, should be ([0-9A-F]{2})")
RAW_LINE = re.compile(r"^    [0-9A-F]{4,}: ((?:[0-9A-F]{2} )+)", re.MULTILINE)
HEXADECIMAL = ("Table Length", "Revision", "Checksum", "Oem Revision", "Asl Compiler Revision")
QUOTED = re.compile(r'^"(.*?)"')


@dataclass(frozen=True, slots=True, kw_only=True)
class ListedTable:
    """Header fields by the names that iasl gives them; texts with their padding."""

    numbers: dict[str, int]
    texts: dict[str, str]
    checksum_good: bool
    raw: bytes


def reason_to_skip() -> str:
    return "" if shutil.which("iasl") else "iasl (package acpica-tools) is not installed"


def list_table(table: Path, folder: Path) -> ListedTable:
    """What iasl prints of the table; its listing is left in `folder`."""
    listing = folder / table.stem
    subprocess.run(["iasl", "-p", str(listing), "-d", str(table)], check=True, capture_output=True)
    text = listing.with_suffix(".dsl").read_text(encoding="latin-1")
    fields = {found["name"].strip(): found["value"] for found in FIELD.finditer(text)}
    return ListedTable(
        numbers={name: int(fields[name][:8].split()[0], 16) for name in HEXADECIMAL},
        texts={name: quoted[1] for name in fields if (quoted := QUOTED.match(fields[name]))},
        checksum_good=REMARK.search(text) is None,
        raw=bytes.fromhex("".join(found[1] for found in RAW_LINE.finditer(text))),
    )
