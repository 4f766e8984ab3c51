"""Memory: one module for each SMBIOS type 17 structure, and all of them together.

Kernel paths: `sys/firmware/dmi/tables/` (DMTF DSP0134 sections 7.17, 7.18) and `proc/meminfo`
(Documentation/filesystems/proc.rst). Sizes are in bytes, speeds in MT/s.
"""

import re
from typing import Final

from closeout.decode.smbios_fields import Missing
from closeout.decode.smbios_memory import (
    MemoryDeviceRecord,
    decode_memory_array,
    decode_memory_device,
)
from closeout.decode.smbios_table import Table
from closeout.kernel.tree import KernelTree
from closeout.model.device import Position
from closeout.model.inventory import Listing
from closeout.model.memory import MainMemory, MemoryModule
from closeout.model.reading import Reading, Unreadable, Value, convert
from closeout.readers.attributes import read_text, understand
from closeout.readers.reader import Reader
from closeout.readers.smbios_view import (
    TABLE,
    Seen,
    index_of,
    list_structures,
    missing_structure,
    read_smbios,
    reading_of,
    structure_at,
    tell,
    tell_text,
)

ARRAY_TYPE: Final = 16
DEVICE_TYPE: Final = 17
MEMINFO: Final = "proc/meminfo"
MEM_TOTAL: Final = re.compile(r"^MemTotal:\s+(\d{1,15}) kB$", re.MULTILINE)
KIB: Final = 1024
MAIN_USE: Final = "System Memory"


def find_memory_modules(tree: KernelTree) -> Listing:
    """Every socket or soldered bank that the raw table lists, empty ones included."""
    return list_structures(read_smbios(tree), DEVICE_TYPE, "dmi:memory")


def read_memory_module(tree: KernelTree, place: str) -> MemoryModule:
    """One memory device structure (type 17); people know it by its socket's name."""
    index = index_of(place)
    structure = structure_at(read_smbios(tree), DEVICE_TYPE, index)
    record = convert(structure, decode_memory_device)
    locator = tell_text(record, lambda module: module.locator, "MemoryDevice/Locator")
    return MemoryModule(
        place=place,
        label=locator.value if isinstance(locator, Value) else f"memory {index + 1}",
        position=Position.INTERNAL,
        fitted=tell(record, lambda module: module.is_fitted),
        size_bytes=tell(record, lambda module: module.size_bytes),
        locator=locator,
        bank_locator=tell_text(
            record, lambda module: module.bank_locator, "MemoryDevice/Bank Locator"
        ),
        memory_type=tell(record, lambda module: module.memory_type),
        form_factor=tell(record, lambda module: module.form_factor),
        manufacturer=tell_text(
            record, lambda module: module.manufacturer, "MemoryDevice/Manufacturer"
        ),
        part_number=tell_text(
            record, lambda module: module.part_number, "MemoryDevice/Part Number"
        ),
        serial=tell_text(record, lambda module: module.serial, "MemoryDevice/Serial Number"),
        asset_tag=tell_text(record, lambda module: module.asset_tag, "MemoryDevice/Asset Tag"),
        speed_mts=tell(record, lambda module: module.speed_mts),
        configured_speed_mts=tell(record, lambda module: module.configured_speed_mts),
    )


def find_main_memory(tree: KernelTree) -> Listing:
    """The memory as a whole, if the raw table or the kernel tells of it."""
    seen = read_smbios(tree)
    if isinstance(seen, Value):
        return Value(value=("dmi:main_memory",), sources=seen.sources)
    kernel = read_kernel_total(tree)
    if isinstance(kernel, Value):
        return Value(value=("dmi:main_memory",), sources=kernel.sources)
    return seen


def read_main_memory(tree: KernelTree, place: str) -> MainMemory:
    """What the modules sum up to, and what the kernel has of it."""
    fitted = _fitted_modules(read_smbios(tree))
    return MainMemory(
        place=place,
        label="main memory",
        position=Position.INTERNAL,
        installed_bytes=_sum_of_sizes(fitted),
        fitted_modules=convert(fitted, len),
        kernel_total_bytes=read_kernel_total(tree),
    )


def _fitted_modules(seen: Seen) -> Reading[tuple[MemoryDeviceRecord, ...]]:
    """The fitted modules of the main memory.

    A table that breaks off may hide some, so nothing is counted then.
    """
    if not isinstance(seen, Value):
        return seen
    table = seen.value.table
    structures = table.of_type(DEVICE_TYPE)
    if not structures or table.broken_at is not None:
        return missing_structure(seen.value, DEVICE_TYPE)
    others = _arrays_of_other_use(table)
    modules = tuple(decode_memory_device(structure) for structure in structures)
    main = tuple(module for module in modules if module.array_handle not in others)
    for module in main:
        if isinstance(module.is_fitted, Missing):
            return Unreadable(error="MALFORMED", advice=module.is_fitted.reason, sources=(TABLE,))
    sources = tuple(f"{TABLE}#{DEVICE_TYPE}.{index}" for index in range(len(modules)))
    return Value(value=tuple(module for module in main if module.is_fitted), sources=sources)


def _arrays_of_other_use(table: Table) -> frozenset[int]:
    """Handles of arrays that are flash, video or cache memory and not main memory."""
    arrays = ((array.handle, decode_memory_array(array)) for array in table.of_type(ARRAY_TYPE))
    return frozenset(
        handle
        for handle, array in arrays
        if not isinstance(array.use, Missing) and array.use != MAIN_USE
    )


def _sum_of_sizes(modules: Reading[tuple[MemoryDeviceRecord, ...]]) -> Reading[int]:
    """Bytes of all fitted modules; one of unknown size leaves the sum unknown."""
    if not isinstance(modules, Value):
        return modules
    total = 0
    for module in modules.value:
        if isinstance(module.size_bytes, Missing):
            return reading_of(module.size_bytes, modules.sources)
        total += module.size_bytes
    return Value(value=total, sources=modules.sources)


def read_kernel_total(tree: KernelTree) -> Reading[int]:
    """Bytes that the kernel manages: `MemTotal`, which it writes in KiB and calls kB."""
    return understand(read_text(tree, MEMINFO), "a line MemTotal in kB", _parse_total)


def _parse_total(text: str) -> int | None:
    found = MEM_TOTAL.search(text)
    return int(found[1]) * KIB if found else None


READERS: Final = (
    Reader(kind="main_memory", find=find_main_memory, read=read_main_memory),
    Reader(kind="memory_module", find=find_memory_modules, read=read_memory_module),
)
