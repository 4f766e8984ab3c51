"""The raw SMBIOS table as the kernel shows it, and its fields as readings.

Kernel paths: `sys/firmware/dmi/tables/DMI` holds the table alone, `smbios_entry_point` beside it
the entry point (Documentation/ABI/testing/sysfs-firmware-dmi-tables). Both are for root only. The
address in the entry point is a physical one and not needed here.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import Final, TypeAlias, TypeVar

from closeout.decode.failure import DecodeError
from closeout.decode.smbios_entry import EntryPoint, decode_entry_point
from closeout.decode.smbios_fields import Field, Lack, Missing
from closeout.decode.smbios_table import Structure, Table, decode_table
from closeout.kernel.failure import ReadError
from closeout.kernel.tree import KernelTree
from closeout.model.frozen import frozen
from closeout.model.inventory import Listing
from closeout.model.reading import Absent, Blank, Reading, Unreadable, Value, convert
from closeout.readers.attributes import no_value
from closeout.readers.placeholder import sort_text

T = TypeVar("T")
R = TypeVar("R")

TABLE: Final = "sys/firmware/dmi/tables/DMI"
ENTRY_POINT: Final = "sys/firmware/dmi/tables/smbios_entry_point"
PADDING: Final = " \t\0"
EMPTY: Final = frozenset({Lack.NO_STRING, Lack.BAD_INDEX, Lack.NOT_SET})
DAMAGED: Final = frozenset({Lack.UNDEFINED, Lack.CUT})


@frozen
class SmbiosView:
    """The decoded table; `version` is None where the entry point could not be used."""

    table: Table
    version: tuple[int, int] | None
    faults: tuple[str, ...]


Seen: TypeAlias = Value[SmbiosView] | Absent | Unreadable


def read_smbios(tree: KernelTree) -> Seen:
    """The raw table; a missing or damaged entry point is a fault of it, not the end of it.

    Of a table whose end was not read nothing is taken: what is left of it proves nothing.
    """
    try:
        raw = tree.read(TABLE)
    except ReadError as failure:
        return no_value(failure)
    entry, entry_faults = _read_entry_point(tree)
    table = _decode_table(raw, entry)
    if not table.structures:
        return Unreadable(
            error="MALFORMED", advice="the SMBIOS table holds no structure", sources=(TABLE,)
        )
    if table.is_cut:
        told = table.faults[-1].sentence
        return Unreadable(error="MALFORMED", advice=f"the SMBIOS {told}", sources=(TABLE,))
    view = SmbiosView(
        table=table,
        version=None if entry is None else entry.version,
        faults=entry_faults + tuple(fault.sentence for fault in table.faults),
    )
    return Value(value=view, sources=(TABLE,))


@lru_cache(maxsize=1)
def _decode_table(raw: bytes, entry: EntryPoint | None) -> Table:
    """Every device that the table tells of asks for it; it is decoded once."""
    return decode_table(raw, entry)


def structure_at(seen: Seen, type_number: int, index: int = 0) -> Reading[Structure]:
    """One structure of a type, counted from zero in the order of the table."""
    if not isinstance(seen, Value):
        return seen
    structures = seen.value.table.of_type(type_number)
    if index < len(structures):
        return Value(value=structures[index], sources=(f"{TABLE}#{type_number}.{index}",))
    return missing_structure(seen.value, type_number)


def missing_structure(view: SmbiosView, type_number: int) -> Absent | Unreadable:
    """Why there is no such structure: the table has none, or breaks off before it may come."""
    broken_at = view.table.broken_at
    if broken_at is None:
        reason = f"the SMBIOS table has no such structure (type {type_number})"
        return Absent(reason=reason, sources=(TABLE,))
    advice = f"the SMBIOS table breaks off at byte {broken_at}; update or restore the firmware"
    return Unreadable(error="MALFORMED", advice=advice, sources=(TABLE,))


def list_structures(seen: Seen, type_number: int, prefix: str) -> Listing:
    """A place for each structure of a type; a table that breaks off before any is not empty."""
    if not isinstance(seen, Value):
        return seen
    count = len(seen.value.table.of_type(type_number))
    if count == 0 and seen.value.table.broken_at is not None:
        return missing_structure_listing(seen.value, type_number)
    places = tuple(f"{prefix}.{index}" for index in range(count))
    return Value(value=places, sources=seen.sources)


def missing_structure_listing(view: SmbiosView, type_number: int) -> Listing:
    """An empty listing where the table is whole, else the reason why nothing can be said."""
    missing = missing_structure(view, type_number)
    if isinstance(missing, Absent):
        return Value(value=(), sources=missing.sources)
    return missing


def tell(record: Reading[R], get: Callable[[R], Field[T]]) -> Reading[T]:
    """One field of a record as a reading."""
    if not isinstance(record, Value):
        return record
    return reading_of(get(record.value), record.sources)


def tell_text(record: Reading[R], get: Callable[[R], Field[str]], field: str) -> Reading[str]:
    """A text of a record, right-trimmed and sorted into value, blank and filler."""
    return sort_text(convert(tell(record, get), _trim), field)


def reading_of(field: Field[T], sources: tuple[str, ...]) -> Reading[T]:
    """The state that a field of the table has."""
    if not isinstance(field, Missing):
        return Value(value=field, sources=sources)
    if field.lack in EMPTY:
        return Blank(reason=field.reason, sources=sources)
    if field.lack in DAMAGED:
        return Unreadable(error="MALFORMED", advice=field.reason, sources=sources)
    return Absent(reason=field.reason, sources=sources)


def index_of(place: str) -> int:
    """The number at the end of a place such as `dmi:memory.1`; zero where there is none."""
    digits = place.rpartition(".")[2]
    return int(digits) if digits.isdecimal() else 0


def _trim(text: str) -> str:
    return text.rstrip(PADDING)


def _read_entry_point(tree: KernelTree) -> tuple[EntryPoint | None, tuple[str, ...]]:
    try:
        return decode_entry_point(tree.read(ENTRY_POINT)), ()
    except ReadError as failure:
        return None, (f"entry point: {failure.code}; the version of the table is not known",)
    except DecodeError as failure:
        return None, (f"entry point at byte {failure.offset}: {failure.message}",)
