"""Memory: one module for each SMBIOS type 17 structure, and all of them together.

Kernel paths: `sys/firmware/dmi/tables/` (DMTF DSP0134 sections 7.17, 7.18, 7.38), else udev's copy
of it, `run/udev/data/+dmi:id`; and what the kernel has of it (`readers.memory_kernel`). Sizes are
in bytes, speeds in MT/s.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, TypeVar

from closeout.decode.smbios_fields import Field, Missing
from closeout.decode.smbios_memory import MemoryArrayRecord, MemoryDeviceRecord
from closeout.kernel.tree import KernelTree
from closeout.model.device import Position
from closeout.model.inventory import Listing
from closeout.model.memory import MainMemory, MemoryModule
from closeout.model.reading import Absent, Reading, Unreadable, Value, combine, convert
from closeout.readers.memory_kernel import read_kernel_total, read_online
from closeout.readers.memory_views import (
    Arrays,
    Modules,
    tell_of,
    tell_text_of,
    view_memory,
)
from closeout.readers.reader import Reader
from closeout.readers.smbios_view import index_of, reading_of

T = TypeVar("T")
U = TypeVar("U")

WHOLE: Final = "dmi:main_memory"


def find_memory_modules(tree: KernelTree) -> Listing:
    """Every socket or soldered bank that table or copy lists, empty ones included."""
    return view_memory(tree).list_modules()


def read_memory_module(tree: KernelTree, place: str) -> MemoryModule:
    """One memory device structure (type 17); people know it by its socket's name."""
    index = index_of(place)
    view = view_memory(tree)
    record = view.module(index)

    def told(get: Callable[[MemoryDeviceRecord], Field[T]]) -> Reading[T]:
        return tell_of(view, record, get)

    def text(get: Callable[[MemoryDeviceRecord], Field[str]], field: str) -> Reading[str]:
        return tell_text_of(view, record, get, field)

    locator = text(lambda module: module.locator, "Locator")
    speed = told(lambda module: module.speed_mts)
    configured_speed = told(lambda module: module.configured_speed_mts)
    return MemoryModule(
        place=place,
        label=locator.value if isinstance(locator, Value) else f"memory {index + 1}",
        position=Position.INTERNAL,
        fitted=told(lambda module: module.is_fitted),
        size_bytes=told(lambda module: module.size_bytes),
        locator=locator,
        bank_locator=text(lambda module: module.bank_locator, "Bank Locator"),
        memory_type=told(lambda module: module.memory_type),
        form_factor=told(lambda module: module.form_factor),
        manufacturer=text(lambda module: module.manufacturer, "Manufacturer"),
        part_number=text(lambda module: module.part_number, "Part Number"),
        serial=text(lambda module: module.serial, "Serial Number"),
        asset_tag=text(lambda module: module.asset_tag, "Asset Tag"),
        speed_mts=speed,
        configured_speed_mts=configured_speed,
        runs_slower=combine(configured_speed, speed, _is_below),
        rank=told(lambda module: module.rank),
        data_width_bits=told(lambda module: module.width),
        total_width_bits=told(lambda module: module.total_width),
        configured_voltage_mv=told(lambda module: module.configured_mv),
        technology=told(lambda module: module.technology),
    )


def _is_below(configured: int, rated: int) -> bool:
    return configured < rated


def find_main_memory(tree: KernelTree) -> Listing:
    """The memory as a whole, if table, copy or kernel tell of it."""
    modules = view_memory(tree).list_modules()
    if isinstance(modules, Value):
        return Value(value=(WHOLE,), sources=modules.sources)
    kernel = read_kernel_total(tree)
    if isinstance(kernel, Value):
        return Value(value=(WHOLE,), sources=kernel.sources)
    return modules


def read_main_memory(tree: KernelTree, place: str) -> MainMemory:
    """What modules and arrays sum up to, and what the kernel has of it."""
    view = view_memory(tree)
    modules, arrays = view.main_modules(), view.main_arrays()
    fitted = _fitted(modules)
    return MainMemory(
        place=place,
        label="main memory",
        position=Position.INTERNAL,
        installed_bytes=view.settle(_sum_up(fitted, lambda module: module.size_bytes)),
        fitted_modules=convert(fitted, len),
        slots=view.settle(_sum_up(arrays, lambda array: array.device_count)),
        empty_slots=combine(modules, fitted, _difference),
        maximum_bytes=view.settle(_sum_up(arrays, lambda array: array.capacity_bytes)),
        location=view.settle(_join(arrays, lambda array: array.location)),
        error_correction=view.settle(_join(arrays, lambda array: array.correction)),
        channels=view.channels(),
        one_speed=view.settle(_is_one_speed(fitted)),
        kernel_total_bytes=read_kernel_total(tree),
        online_bytes=read_online(tree),
    )


def _difference(modules: Modules, fitted: Modules) -> int:
    return len(modules) - len(fitted)


def _fitted(modules: Reading[Modules]) -> Reading[Modules]:
    """Those that sit in their sockets; one that does not tell leaves it open for all."""
    if not isinstance(modules, Value):
        return modules
    for module in modules.value:
        if isinstance(module.is_fitted, Missing):
            reason = module.is_fitted.reason
            return Unreadable(error="MALFORMED", advice=reason, sources=modules.sources)
    fitted = tuple(module for module in modules.value if module.is_fitted)
    return Value(value=fitted, sources=modules.sources)


def _sum_up(records: Reading[tuple[T, ...]], get: Callable[[T], Field[int]]) -> Reading[int]:
    """The sum of a field; one that is unknown leaves the sum unknown."""
    return convert(_all_told(records, get), sum)


def _join(records: Reading[Arrays], get: Callable[[MemoryArrayRecord], Field[str]]) -> Reading[str]:
    """The word of all arrays, or every different one."""
    return convert(_all_told(records, get), lambda words: ", ".join(dict.fromkeys(words)))


def _is_one_speed(fitted: Reading[Modules]) -> Reading[bool]:
    """Whether the speeds that the modules run at are one; without a module there is none."""
    speeds = _all_told(fitted, lambda module: module.configured_speed_mts)
    if isinstance(speeds, Value) and not speeds.value:
        return Absent(reason="no module is fitted", sources=speeds.sources)
    return convert(speeds, lambda told: len(set(told)) == 1)


def _all_told(
    records: Reading[tuple[U, ...]], get: Callable[[U], Field[T]]
) -> Reading[tuple[T, ...]]:
    """A field of every record; the first without a value speaks for all."""
    if not isinstance(records, Value):
        return records
    told: list[T] = []
    for record in records.value:
        field = get(record)
        if isinstance(field, Missing):
            return reading_of(field, records.sources)
        told.append(field)
    return Value(value=tuple(told), sources=records.sources)


READERS: Final = (
    Reader(kind="main_memory", find=find_main_memory, read=read_main_memory),
    Reader(kind="memory_module", find=find_memory_modules, read=read_memory_module),
)
