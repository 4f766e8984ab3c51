"""SMBIOS table: its structures with their strings, and every fault met on the way.

DMTF DSP0134 sections 6.1.2 (structure header), 6.1.3 (text strings) and End-of-Table (type 127).
The walk follows the kernel: a structure ends at the first double NUL after its formatted area, and
a length below four ends the walk, because nothing tells where the next structure starts.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from closeout.decode.smbios_entry import EntryPoint
from closeout.model.frozen import frozen

HEADER: Final = 4
END_OF_TABLE: Final = 127
STRINGS_END: Final = b"\0\0"


@frozen
class Fault:
    """What is wrong at which byte of the table."""

    offset: int
    message: str

    @property
    def sentence(self) -> str:
        """Place and message in one line."""
        return f"table at byte {self.offset}: {self.message}"


@frozen
class Structure:
    """One structure: `formatted` holds the header too, so offsets are those of the standard.

    `length` is what the header says; where the table ends inside the structure `is_cut` is true
    and `formatted` may be shorter. `strings` are numbered from one.
    """

    offset: int
    type: int
    handle: int
    length: int
    formatted: bytes
    strings: tuple[bytes, ...]
    is_cut: bool


@frozen
class Table:
    """All structures that can be read, and what is wrong with the table.

    `broken_at` is the byte where the walk had to stop before the end, so that structures may be
    missing; None where it came through. `is_cut` says that the end itself was not read: a
    structure has none, or fewer bytes are there than the entry point announces.
    """

    structures: tuple[Structure, ...]
    faults: tuple[Fault, ...]
    broken_at: int | None
    is_cut: bool

    def of_type(self, number: int) -> tuple[Structure, ...]:
        """The structures of one type, in the order of the table."""
        return tuple(structure for structure in self.structures if structure.type == number)


def decode_table(raw: bytes, entry: EntryPoint | None = None) -> Table:
    """The structures of a table; never raises.

    With an entry point the length and the count that it announces are held against the table.
    """
    length = len(raw) if entry is None else min(len(raw), entry.table_length)
    structures: list[Structure] = []
    faults: list[Fault] = []
    broken_at: int | None = None
    position = 0
    for found in _walk(raw[:length]):
        if isinstance(found, Fault):
            faults.append(found)
            broken_at = found.offset
            continue
        structures.append(found.structure)
        faults.extend(found.faults)
        position = found.next_offset
        if found.structure.is_cut:
            broken_at = found.structure.offset
    ended = bool(structures) and structures[-1].type == END_OF_TABLE
    if broken_at is None and not ended:
        faults.append(Fault(offset=position, message="no end-of-table structure (type 127)"))
    is_short = entry is not None and entry.is_length_exact and len(raw) < entry.table_length
    if entry is not None:
        faults.extend(_against_entry_point(entry, len(raw), len(structures)))
    return Table(
        structures=tuple(structures),
        faults=tuple(faults),
        broken_at=broken_at,
        is_cut=is_short or any(structure.is_cut for structure in structures),
    )


@frozen
class _Step:
    structure: Structure
    faults: tuple[Fault, ...]
    next_offset: int


def _walk(raw: bytes) -> Iterator[_Step | Fault]:
    offset = 0
    while offset < len(raw):
        left = len(raw) - offset
        if left < HEADER:
            yield Fault(offset=offset, message=f"{left} bytes left, too few for a header")
            return
        if raw[offset + 1] < HEADER:
            yield Fault(
                offset=offset + 1,
                message=f"length {raw[offset + 1]} is below {HEADER}; the rest cannot be read",
            )
            return
        step = _decode_structure(raw, offset)
        yield step
        if step.structure.type == END_OF_TABLE:
            return
        offset = step.next_offset


def _decode_structure(raw: bytes, offset: int) -> _Step:
    length = raw[offset + 1]
    body_end = offset + length
    found = raw.find(STRINGS_END, body_end)
    is_cut = found < 0
    strings_end = len(raw) if is_cut else found
    strings, unreachable = _decode_strings(raw[body_end:strings_end], is_cut=is_cut)
    faults: list[Fault] = []
    if is_cut:
        part = "fields" if body_end > len(raw) else "strings"
        faults.append(Fault(offset=len(raw), message=f"the table ends inside the {part} of a "
            f"structure of type {raw[offset]} at byte {offset}"))  # fmt: skip
    if unreachable:
        faults.append(Fault(offset=body_end, message="an empty string hides the strings after it"))
    structure = Structure(
        offset=offset,
        type=raw[offset],
        handle=int.from_bytes(raw[offset + 2 : offset + 4], "little"),
        length=length,
        formatted=raw[offset:body_end],
        strings=strings,
        is_cut=is_cut,
    )
    next_offset = len(raw) if is_cut else found + len(STRINGS_END)
    return _Step(structure=structure, faults=tuple(faults), next_offset=next_offset)


def _decode_strings(area: bytes, *, is_cut: bool) -> tuple[tuple[bytes, ...], bool]:
    """The strings, and whether there are some that no index can reach.

    In a structure that is cut the last string has no end, so it is left out.
    """
    pieces = area.split(b"\0") if area else []
    if is_cut:
        pieces = pieces[:-1]
    if b"" not in pieces:
        return tuple(pieces), False
    reachable = pieces[: pieces.index(b"")]
    return tuple(reachable), any(pieces[len(reachable) :])


def _against_entry_point(entry: EntryPoint, length: int, count: int) -> Iterator[Fault]:
    if entry.is_length_exact and length < entry.table_length:
        yield Fault(
            offset=length,
            message=f"{entry.table_length} bytes are announced, {length} are there",
        )
    if entry.structure_count is not None and entry.structure_count != count:
        yield Fault(
            offset=0,
            message=f"{entry.structure_count} structures are announced, {count} were found",
        )
