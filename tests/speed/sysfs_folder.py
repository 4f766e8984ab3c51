"""A folder in the shape of sysfs, as large as a big machine's: class links and attributes."""

import os
from pathlib import Path
from typing import Final

ATTRIBUTES: Final = 10
DEVICES: Final = 160
PER_BUS: Final = 32
CLASS: Final = "sys/class/part"


def lay_out_sysfs(root: Path) -> tuple[list[Path], list[str]]:
    """The files laid out below the root, and as many questions: every other one by a class link."""
    files: list[Path] = []
    asked: list[str] = []
    (root / CLASS).mkdir(parents=True)
    for number in range(DEVICES):
        bus, slot = divmod(number, PER_BUS)
        place = f"sys/devices/pci0000:{bus:02x}/0000:{bus:02x}:{slot:02x}.0/part/part{number}"
        (root / place).mkdir(parents=True)
        link = root / CLASS / f"part{number}"
        link.symlink_to(os.path.relpath(root / place, link.parent))
        for attribute in range(ATTRIBUTES):
            name = f"attribute_{attribute}"
            files.append(root / place / name)
            files[-1].write_bytes(f"value {attribute}\n".encode())
            asked.append(f"{CLASS}/part{number}/{name}" if attribute % 2 else f"{place}/{name}")
    return files, asked
