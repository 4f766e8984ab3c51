"""A stretch of guest memory through which the host hands over whole files in an instant.

The serial line takes 30 KB a second; this takes what a copy takes. The kernel keeps off the
stretch, and the session (`in_guest/session.py`) reads it through `/dev/mem`. Secure Boot forbids
that.
"""

from pathlib import Path
from typing import Final

BASE: Final = 0x1100_0000
SIZE: Final = 0x0100_0000
KERNEL_OPTIONS: Final = (f"memmap={SIZE >> 20}M${BASE:#x}",)


class TrayError(ValueError):
    """What is to be handed over does not fit."""


def lay_on_tray(ram: Path, content: bytes) -> None:
    """Writes the content where the guest will look for it."""
    if len(content) > SIZE:
        raise TrayError(f"{len(content)} bytes; the tray holds {SIZE}")
    with ram.open("r+b") as memory:
        memory.seek(BASE)
        memory.write(content)
