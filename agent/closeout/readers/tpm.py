"""TPMs, and those that the firmware announces and no driver serves.

Kernel paths: `sys/class/tpm/tpm*` (Documentation/ABI/stable/sysfs-class-tpm), and the listing of
`sys/firmware/acpi/tables`: firmware announces a TPM 2.0 by the table TPM2 and one of 1.2 by TCPA
(TCG ACPI Specification). The device itself is never opened.
"""

from __future__ import annotations

from functools import partial
from typing import Final

from closeout.decode.tpm_registers import is_measured, register_of
from closeout.kernel.tree import KernelTree
from closeout.model.device import Position
from closeout.model.inventory import Listing
from closeout.model.reading import Absent, Reading, Unreadable, Value, convert
from closeout.model.tpm import Tpm
from closeout.readers.attributes import (
    list_class,
    list_folder,
    read_integer,
    read_link_name,
    read_text,
    understand,
)
from closeout.readers.places import label_of, locate, read_position
from closeout.readers.reader import Reader

CLASS: Final = "sys/class/tpm"
TABLES: Final = "sys/firmware/acpi/tables"
ANNOUNCING: Final = ("TPM2", "TCPA")
BANK: Final = "pcr-"
STRONGEST_FIRST: Final = ("sha512", "sha384", "sha256", "sha1")


def find_tpms(tree: KernelTree) -> Listing:
    """The devices of the class; without any, the tables that announce one."""
    devices = list_class(tree, CLASS)
    if not isinstance(devices, Value):
        return devices
    if devices.value:
        places = tuple(locate(tree, f"{CLASS}/{name}") for name in devices.value)
        return Value(value=places, sources=devices.sources)
    tables = list_folder(tree, TABLES)
    if isinstance(tables, Unreadable):
        return tables
    named = tables.value if isinstance(tables, Value) else ()
    places = tuple(f"{TABLES}/{name}" for name in named if name in ANNOUNCING)
    return Value(value=places, sources=(*devices.sources, *tables.sources))


def read_tpm(tree: KernelTree, place: str) -> Tpm:
    """One TPM, or a table that announces one."""
    if place.startswith(f"{TABLES}/"):
        return _announced_only(tree, place)
    banks = _read_banks(tree, place)
    return Tpm(
        place=place,
        label=label_of(place),
        position=read_position(tree, place),
        present=Value(value=True, sources=(CLASS,)),
        announced=_read_announced(tree),
        version_major=read_integer(tree, f"{place}/tpm_version_major"),
        driver=read_link_name(tree, f"{place}/device/driver"),
        banks=banks,
        pcr0_measured=_read_measured(tree, place, banks, 0),
        pcr7_measured=_read_measured(tree, place, banks, 7),
    )


def _announced_only(tree: KernelTree, place: str) -> Tpm:
    """A TPM that no driver serves tells nothing of itself."""
    nothing = Absent(reason="the kernel has no device of it", sources=(CLASS,))
    return Tpm(
        place=place,
        label=f"ACPI table {label_of(place)}",
        position=Position.INTERNAL,
        present=Value(value=False, sources=(CLASS,)),
        announced=_read_announced(tree),
        version_major=nothing,
        driver=nothing,
        banks=nothing,
        pcr0_measured=nothing,
        pcr7_measured=nothing,
    )


def _read_announced(tree: KernelTree) -> Reading[bool]:
    tables = list_folder(tree, TABLES)
    return convert(tables, lambda names: any(name in ANNOUNCING for name in names))


def _read_banks(tree: KernelTree, place: str) -> Reading[tuple[str, ...]]:
    """The hashes, the strongest first; what the kernel adds one day comes behind."""
    listing = list_folder(tree, place)
    if not isinstance(listing, Value):
        return listing
    found = [name.removeprefix(BANK) for name in listing.value if name.startswith(BANK)]
    if not found:
        return Absent(reason="the kernel shows no bank of registers", sources=listing.sources)
    known = [name for name in STRONGEST_FIRST if name in found]
    others = [name for name in found if name not in STRONGEST_FIRST]
    return Value(value=(*known, *others), sources=listing.sources)


def _read_measured(
    tree: KernelTree, place: str, banks: Reading[tuple[str, ...]], number: int
) -> Reading[bool]:
    """Whether a register holds a measurement: in any bank, since firmware may fill only some."""
    if isinstance(banks, Unreadable):
        return banks
    if not isinstance(banks, Value):
        return _read_measured_1_2(tree, place, number)
    readings = [
        understand(
            read_text(tree, f"{place}/{BANK}{bank}/{number}"), "a register's value", is_measured
        )
        for bank in banks.value
    ]
    for reading in readings:
        if isinstance(reading, Value) and reading.value:
            return reading
    silent = [reading for reading in readings if not isinstance(reading, Value)]
    return (silent or readings)[0]


def _read_measured_1_2(tree: KernelTree, place: str, number: int) -> Reading[bool]:
    """Out of the one file that a TPM 1.2 has for all its registers."""
    registers = read_text(tree, f"{place}/device/pcrs")
    value = understand(registers, f"a line PCR-{number:02}", partial(_find_register, number=number))
    return understand(value, "a register's value", is_measured)


def _find_register(text: str, number: int) -> str | None:
    return register_of(text, number)


READERS: Final = (Reader(kind="tpm", find=find_tpms, read=read_tpm),)
