"""The link of a SATA drive: how fast it is, and what the drive and its host adapter can.

Kernel files: `ataN/linkN/ata_link/linkN/sata_spd` (Documentation/ABI/testing/sysfs-ata) and
`ataN/hostM/scsi_host/hostM/ahci_host_caps`, the register CAP whose bits 20 to 23 are the fastest
generation (AHCI 1.3.1, section 3.1.1, from memory). Such a link does not slow down to save power,
so one that is slow has lost speed to errors.
"""

from __future__ import annotations

import re
from typing import Final

from closeout.decode.ata_identify import SPEEDS, AtaDevice
from closeout.kernel.tree import KernelTree
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Absent, Reading, Unreadable, Value, combine
from closeout.readers.attributes import list_folder, read_text, understand

ATA_PORT: Final = late_pattern(r"(.*/ata(\d+))/(host\d+)/")
NO_LINK: Final = "<unknown>"


def read_sata_speed(tree: KernelTree, place: str) -> Reading[str]:
    """What the link of the drive at a place runs at."""
    port = ATA_PORT.match(place)
    if port is None:
        return Absent(reason="the drive is on no ATA port", sources=(place,))
    name = f"link{port[2]}"
    folders = list_folder(tree, port[1])
    if isinstance(folders, Value) and name not in folders.value:
        return Absent(reason="the port shows no link", sources=folders.sources)
    text = read_text(tree, f"{port[1]}/{name}/ata_link/{name}/sata_spd")
    if isinstance(text, Value) and text.value == NO_LINK:
        advice = "the link is down; reseat the drive or its cable and read again"
        return Unreadable(error="UNKNOWN", advice=advice, sources=text.sources)
    wanted = f"one of {', '.join(SPEEDS.values())}"
    return understand(text, wanted, lambda found: found if found in SPEEDS.values() else None)


def read_possible_speed(tree: KernelTree, place: str, identity: Reading[AtaDevice]) -> Reading[str]:
    """The fastest that both the drive and its host adapter can."""
    return combine(_drives_best(identity), _adapters_best(tree, place), min)


def read_slow(now: Reading[str], possible: Reading[str]) -> Reading[bool]:
    """Whether the link is slower than both ends can."""
    return combine(now, possible, lambda one, other: one < other)


def _drives_best(identity: Reading[AtaDevice]) -> Reading[str]:
    if not isinstance(identity, Value):
        return identity
    best = identity.value.link_speed_best
    if best is None:
        return Absent(reason="the drive does not tell its speeds", sources=identity.sources)
    return Value(value=best, sources=identity.sources)


def _adapters_best(tree: KernelTree, place: str) -> Reading[str]:
    port = ATA_PORT.match(place)
    if port is None:
        return Absent(reason="the drive is on no ATA port", sources=(place,))
    path = f"{port[1]}/{port[3]}/scsi_host/{port[3]}/ahci_host_caps"
    return understand(read_text(tree, path), "the capabilities of a host adapter", _generation)


def _generation(text: str) -> str | None:
    digits = re.fullmatch(r"[0-9a-fA-F]{1,8}", text)
    return SPEEDS.get(int(text, 16) >> 20 & 0xF) if digits else None
