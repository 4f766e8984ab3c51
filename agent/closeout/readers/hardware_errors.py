"""Errors that the kernel counted: on the PCI bus, in memory, and by the processors themselves.

Kernel paths: `aer_dev_*` and `aer_rootport_total_err_*` in the folder of a PCI function
(Documentation/ABI/testing/sysfs-bus-pci-devices-aer_stats; the second are not in a folder of
their own, as that document has it for a time), `sys/devices/system/edac/mc/mcN`
(Documentation/ABI/testing/sysfs-devices-edac), `proc/interrupts` (arch/x86/kernel/irq.c).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final, TypeVar

from closeout.decode.failure import DecodeError
from closeout.decode.interrupts import decode_interrupts
from closeout.decode.pci_error_counts import PciErrorCounts, decode_pci_error_counts
from closeout.kernel.failure import ReadError
from closeout.kernel.tree import KernelTree
from closeout.model.device import Position
from closeout.model.hardware_errors import MachineChecks, MemoryController, PciFaults
from closeout.model.inventory import Listing
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Absent, Reading, Unreadable, Value, combine, convert
from closeout.readers.attributes import (
    list_class,
    list_folder,
    no_value,
    read_bytes,
    read_integer,
    read_text,
)
from closeout.readers.pci_devices import find_functions
from closeout.readers.places import label_of, read_position
from closeout.readers.reader import Reader

T = TypeVar("T")

CORRECTABLE: Final = "aer_dev_correctable"
NONFATAL: Final = "aer_dev_nonfatal"
FATAL: Final = "aer_dev_fatal"
BELOW: Final = "aer_rootport_total_err_"
MEMORY: Final = "sys/devices/system/edac/mc"
CONTROLLER: Final = late_pattern(r"mc[0-9]+")
INTERRUPTS: Final = "proc/interrupts"


def find_pci_faults(tree: KernelTree) -> Listing:
    """The places of the functions whose errors the kernel counts."""
    functions = find_functions(tree)
    if not isinstance(functions, Value):
        return functions
    places: list[str] = []
    for place in functions.value:
        inside = list_folder(tree, place)
        if not isinstance(inside, Value):
            return inside
        if CORRECTABLE in inside.value:
            places.append(place)
    return Value(value=tuple(places), sources=functions.sources)


def read_pci_faults(tree: KernelTree, place: str) -> PciFaults:
    """The counts of one function."""
    counts = {
        name: _decoded(read_bytes(tree, f"{place}/{name}"), decode_pci_error_counts)
        for name in (CORRECTABLE, NONFATAL, FATAL)
    }
    return PciFaults(
        place=place,
        label=label_of(place),
        position=read_position(tree, place),
        correctable=convert(counts[CORRECTABLE], _total),
        nonfatal=convert(counts[NONFATAL], _total),
        fatal=convert(counts[FATAL], _total),
        error_names=_names_of(counts),
        below_correctable=read_integer(tree, f"{place}/{BELOW}cor"),
        below_nonfatal=read_integer(tree, f"{place}/{BELOW}nonfatal"),
        below_fatal=read_integer(tree, f"{place}/{BELOW}fatal"),
    )


def find_memory_controllers(tree: KernelTree) -> Listing:
    """The places of the controllers; without a driver that counts there is none, as is usual."""
    listing = list_class(tree, MEMORY)
    if not isinstance(listing, Value):
        return listing
    names = (name for name in listing.value if CONTROLLER.fullmatch(name))
    return Value(value=tuple(f"{MEMORY}/{name}" for name in names), sources=listing.sources)


def read_memory_controller(tree: KernelTree, place: str) -> MemoryController:
    """The counts of one controller, since its driver started or they were last reset."""
    corrected = read_integer(tree, f"{place}/ce_count")
    uncorrected = read_integer(tree, f"{place}/ue_count")
    return MemoryController(
        place=place,
        label=label_of(place),
        position=Position.INTERNAL,
        model=read_text(tree, f"{place}/mc_name"),
        corrected=corrected,
        uncorrected=uncorrected,
        erring=combine(corrected, uncorrected, lambda one, other: one + other > 0),
        watched_seconds=read_integer(tree, f"{place}/seconds_since_reset"),
    )


def find_machine_checks(tree: KernelTree) -> Listing:
    """One place wherever there is a table of interrupts."""
    try:
        tree.read(INTERRUPTS)
    except ReadError as failure:
        return no_value(failure)
    return Value(value=(INTERRUPTS,), sources=(INTERRUPTS,))


def read_machine_checks(tree: KernelTree, place: str) -> MachineChecks:
    """The sums over all processors."""
    rows = _decoded(read_bytes(tree, place), decode_interrupts)
    return MachineChecks(
        place=place,
        label="machine checks",
        position=Position.INTERNAL,
        exceptions=_row(rows, "MCE"),
        threshold_interrupts=_row(rows, "THR"),
        deferred_interrupts=_row(rows, "DFR"),
        thermal_interrupts=_row(rows, "TRM"),
        polls=_row(rows, "MCP"),
    )


def _total(counts: PciErrorCounts) -> int:
    return counts.total


def _names_of(counts: Mapping[str, Reading[PciErrorCounts]]) -> Reading[tuple[str, ...]]:
    """`correctable RxErr 2`, for every error that is not zero; all files must have been read."""
    names: list[str] = []
    sources: tuple[str, ...] = ()
    for file, reading in counts.items():
        if not isinstance(reading, Value):
            return reading
        kind = file.rpartition("_")[2]
        names += [f"{kind} {name} {count}" for name, count in reading.value.by_name if count]
        sources += reading.sources
    return Value(value=tuple(names), sources=sources)


def _row(rows: Reading[Mapping[str, int]], name: str) -> Reading[int]:
    if not isinstance(rows, Value):
        return rows
    if name not in rows.value:
        return Absent(reason=f"the table has no row {name}", sources=rows.sources)
    return Value(value=rows.value[name], sources=rows.sources)


def _decoded(content: Reading[bytes], decode: Callable[[bytes], T]) -> Reading[T]:
    if not isinstance(content, Value):
        return content
    try:
        return Value(value=decode(content.value), sources=content.sources)
    except DecodeError as error:
        return Unreadable(error="MALFORMED", advice=str(error), sources=content.sources)


READERS: Final = (
    Reader(kind="pci_faults", find=find_pci_faults, read=read_pci_faults),
    Reader(kind="memory_controller", find=find_memory_controllers, read=read_memory_controller),
    Reader(kind="machine_checks", find=find_machine_checks, read=read_machine_checks),
)
