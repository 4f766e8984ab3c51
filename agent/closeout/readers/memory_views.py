"""What is known of memory, and by whom: the raw SMBIOS table, else udev's copy of it.

Kernel paths: `sys/firmware/dmi/tables/`, for root alone, and `run/udev/data/+dmi:id`, for everyone
(systemd, rules.d/70-memory.rules).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, TypeAlias, TypeVar

from closeout.decode.smbios_fields import Field, Lack, Missing
from closeout.decode.smbios_memory import (
    MemoryArrayRecord,
    MemoryDeviceRecord,
    decode_memory_array,
    decode_memory_device,
)
from closeout.decode.smbios_table import Table
from closeout.decode.udev_memory import decode_udev_memory
from closeout.decode.udev_properties import decode_udev_properties
from closeout.kernel.tree import KernelTree
from closeout.model.frozen import frozen
from closeout.model.inventory import Listing
from closeout.model.reading import Absent, Reading, Unreadable, Value, convert
from closeout.readers.attributes import read_bytes
from closeout.readers.smbios_view import (
    TABLE,
    SmbiosView,
    list_structures,
    missing_structure,
    read_smbios,
    structure_at,
    tell,
    tell_text,
)

T = TypeVar("T")

Modules: TypeAlias = tuple[MemoryDeviceRecord, ...]
Arrays: TypeAlias = tuple[MemoryArrayRecord, ...]

ARRAY_TYPE: Final = 16
DEVICE_TYPE: Final = 17
CHANNEL_TYPE: Final = 37
MAIN_USE: Final = "System Memory"
OTHER_TYPES: Final = frozenset({"Flash", "ROM", "EEPROM", "FEPROM", "EPROM", "VRAM", "SRAM"})
"""Firmware's flash, memory of graphics, and cache."""
PLACES: Final = "dmi:memory"
UDEV_COPY: Final = "run/udev/data/+dmi:id"


@frozen
class TableView:
    """The memory as the raw table tells it, or as it does not."""

    seen: Value[SmbiosView] | Absent | Unreadable

    def list_modules(self) -> Listing:
        """A place for each memory device structure."""
        return list_structures(self.seen, DEVICE_TYPE, PLACES)

    def module(self, index: int) -> Reading[MemoryDeviceRecord]:
        """One of them, counted from zero."""
        return convert(structure_at(self.seen, DEVICE_TYPE, index), decode_memory_device)

    def main_modules(self) -> Reading[Modules]:
        """Those of the main memory; a table that breaks off may hide some."""
        if not isinstance(self.seen, Value):
            return self.seen
        table = self.seen.value.table
        structures = table.of_type(DEVICE_TYPE)
        if not structures or table.broken_at is not None:
            return missing_structure(self.seen.value, DEVICE_TYPE)
        others = _arrays_of_other_use(table)
        modules = tuple(decode_memory_device(structure) for structure in structures)
        sources = tuple(f"{TABLE}#{DEVICE_TYPE}.{index}" for index in range(len(modules)))
        main = tuple(module for module in modules if module.array_handle not in others)
        return Value(value=main, sources=sources)

    def main_arrays(self) -> Reading[Arrays]:
        """The arrays of the main memory; a table that breaks off may hide some."""
        if not isinstance(self.seen, Value):
            return self.seen
        table = self.seen.value.table
        arrays = tuple(decode_memory_array(array) for array in table.of_type(ARRAY_TYPE))
        main = tuple(array for array in arrays if array.use == MAIN_USE)
        if not main or table.broken_at is not None:
            return missing_structure(self.seen.value, ARRAY_TYPE)
        sources = tuple(f"{TABLE}#{ARRAY_TYPE}.{index}" for index in range(len(arrays)))
        return Value(value=main, sources=sources)

    def channels(self) -> Reading[int]:
        """How many memory channels the table lists (7.38); few tables list any."""
        if not isinstance(self.seen, Value):
            return self.seen
        table = self.seen.value.table
        count = len(table.of_type(CHANNEL_TYPE))
        if not count or table.broken_at is not None:
            return missing_structure(self.seen.value, CHANNEL_TYPE)
        return Value(value=count, sources=self.seen.sources)

    def settle(self, reading: Reading[T]) -> Reading[T]:
        """The reading as it is: the table has the last word."""
        return reading


@frozen
class CopyView:
    """The memory as udev copied it; `untold` is why the table itself could not be asked."""

    copy: Value[Modules]
    untold: Absent | Unreadable

    def list_modules(self) -> Listing:
        """The same places as those of the table."""
        count = len(self.copy.value)
        places = tuple(f"{PLACES}.{index}" for index in range(count))
        return Value(value=places, sources=self.copy.sources)

    def module(self, index: int) -> Reading[MemoryDeviceRecord]:
        """One module, counted from zero."""
        modules = self.copy.value
        if index < len(modules):
            return Value(value=modules[index], sources=self.copy.sources)
        return Absent(reason="udev keeps nothing of such a module", sources=self.copy.sources)

    def main_modules(self) -> Reading[Modules]:
        """All modules, unless a fitted one is no main memory by its type, or may be none."""
        if all(_is_main(module) for module in self.copy.value):
            return self.copy
        return self.untold

    def main_arrays(self) -> Reading[Arrays]:
        """The copy may lack some."""
        return self.untold

    def channels(self) -> Reading[int]:
        """The copy has none."""
        return self.untold

    def settle(self, reading: Reading[T]) -> Reading[T]:
        """What the copy cannot tell is as unread as the table itself."""
        return self.untold if isinstance(reading, Unreadable) else reading


MemoryView: TypeAlias = TableView | CopyView


def view_memory(tree: KernelTree) -> MemoryView:
    """The table where it can be read, else udev's copy where there is one."""
    seen = read_smbios(tree)
    if isinstance(seen, Value):
        return TableView(seen=seen)
    copy = convert(
        read_bytes(tree, UDEV_COPY), lambda raw: decode_udev_memory(decode_udev_properties(raw))
    )
    if isinstance(copy, Value) and copy.value:
        return CopyView(copy=copy, untold=seen)
    return TableView(seen=seen)


def tell_of(
    view: MemoryView,
    record: Reading[MemoryDeviceRecord],
    get: Callable[[MemoryDeviceRecord], Field[T]],
) -> Reading[T]:
    """One field of a module."""
    return view.settle(tell(record, get))


def tell_text_of(
    view: MemoryView,
    record: Reading[MemoryDeviceRecord],
    get: Callable[[MemoryDeviceRecord], Field[str]],
    field: str,
) -> Reading[str]:
    """One text of a module, sorted into value, blank and filler."""
    return view.settle(tell_text(record, get, f"MemoryDevice/{field}"))


def _is_main(module: MemoryDeviceRecord) -> bool:
    """Types that udev has no word for are newer ones, of main memory; one unknown may be any."""
    word = module.memory_type
    if module.is_fitted is False:
        return True
    return word.lack is Lack.UNDEFINED if isinstance(word, Missing) else word not in OTHER_TYPES


def _arrays_of_other_use(table: Table) -> frozenset[int]:
    """Handles of arrays that are flash, video or cache memory and not main memory."""
    arrays = ((array.handle, decode_memory_array(array)) for array in table.of_type(ARRAY_TYPE))
    return frozenset(
        handle
        for handle, array in arrays
        if not isinstance(array.use, Missing) and array.use != MAIN_USE
    )
