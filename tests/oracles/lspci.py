"""What lspci calls PCI functions of any ids, out of a drawn dump (`lspci -F FILE -vmm`)."""

import shutil
import subprocess
from collections.abc import Sequence
from pathlib import Path
from typing import Final

IDS_FILE: Final = Path("/usr/share/misc/pci.ids")
MOST_FUNCTIONS: Final = 256 * 32


def reason_to_skip() -> str:
    """Why there is nothing to compare with; empty where there is."""
    if not shutil.which("lspci"):
        return "lspci is not installed (package pciutils)"
    return "" if IDS_FILE.exists() else f"{IDS_FILE} is not installed (package pci.ids)"


def name_functions(ids: Sequence[tuple[str, str]], folder: Path) -> list[tuple[str, str]]:
    """Vendor and device name for each pair of ids; a number in hexadecimal where none is listed."""
    assert len(ids) <= MOST_FUNCTIONS
    dump = folder / "dump"
    dump.write_text("\n\n".join(_draw(at, *pair) for at, pair in enumerate(ids)) + "\n")
    command = ["lspci", "-i", str(IDS_FILE), "-F", str(dump), "-vmm"]
    done = subprocess.run(command, capture_output=True, check=True, timeout=30)
    records = done.stdout.decode("utf-8", "replace").strip().split("\n\n")
    return [_names(record) for record in records]


def _draw(at: int, vendor: str, device: str) -> str:
    """One function as `lspci -x` prints it: the first 16 bytes of its configuration space."""
    header = bytes.fromhex(vendor)[::-1] + bytes.fromhex(device)[::-1] + bytes(12)
    return f"{at // 32:02x}:{at % 32:02x}.0 Drawn\n00: {header.hex(' ')}"


def _names(record: str) -> tuple[str, str]:
    fields = dict(line.split(":\t", 1) for line in record.split("\n"))
    return fields["Vendor"], fields["Device"]
