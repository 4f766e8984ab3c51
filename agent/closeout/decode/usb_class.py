"""Which USB interfaces a kernel driver normally serves (USB-IF, defined class codes)."""

from __future__ import annotations

from typing import Final

USUALLY_DRIVEN: Final = (
    "01/",  # audio
    "02/",  # communications and control
    "03/",  # human interface device
    "08/",  # mass storage
    "0e/",  # video
    "e0/01/01",  # Bluetooth
)
"""Starts of class/subclass/protocol. The rest is served by programs as often as by the kernel:
smart-card readers (0b), still images (06), printers (07), firmware loading (fe), and
vendor-specific interfaces (ff), which fingerprint readers have. Hubs (09) belong to the bus."""


def has_usual_driver(triple: str) -> bool:
    """The kernel normally has a driver for an interface of this class/subclass/protocol."""
    return triple.startswith(USUALLY_DRIVEN)
