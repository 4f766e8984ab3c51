"""The partition table of a stick, written and read (UEFI 2.10, section 5: GUID Partition Table)."""

from __future__ import annotations

import struct
import zlib
from collections.abc import Sequence
from typing import Final
from uuid import UUID

from closeout.model.frozen import frozen

SECTOR: Final = 512
SIGNATURE: Final = b"EFI PART"
REVISION: Final = 0x0001_0000
HEADER: Final = struct.Struct("<8sIII4xQQQQ16sQIII")
ENTRY: Final = struct.Struct("<16s16sQQQ72s")
ENTRIES: Final = 128
TABLE_SECTORS: Final = ENTRIES * ENTRY.size // SECTOR
FIRST_USABLE: Final = 2 + TABLE_SECTORS
PROTECTIVE: Final = 0xEE
RECORD: Final = struct.Struct("<B3sB3sII")
RECORDS_AT: Final = 446
LAST_CYLINDER: Final = b"\xff\xff\xff"

DESKTOP_FILES: Final = UUID("ebd0a0a2-b9e5-4433-87c0-68b6b72699c7")
"""Shown by every desktop ("Microsoft basic data")."""
UEFI_FILES: Final = UUID("c12a7328-f81f-11d2-ba4b-00a0c93ec93b")
"""The EFI system partition."""
BIOS_LOADER: Final = UUID("21686148-6449-6e6f-744e-656564454649")
"""Where GRUB keeps its second part for a start without UEFI (its manual, "BIOS installation")."""


class TableError(ValueError):
    """These bytes hold no sound partition table."""


@frozen
class Partition:
    """One partition: what it is for, its own number, where it lies, and its name."""

    kind: UUID
    id: UUID
    first: int
    """Its first sector."""
    sectors: int
    name: str

    @property
    def offset(self) -> int:
        """Where it begins, in bytes."""
        return self.first * SECTOR

    @property
    def size(self) -> int:
        """How many bytes it has."""
        return self.sectors * SECTOR


def protective_record(sectors: int, loader: bytes = b"") -> bytes:
    """Sector 0: a start program for BIOS, and the record that keeps old tools away (5.2.3)."""
    record = RECORD.pack(0, b"\0\2\0", PROTECTIVE, LAST_CYLINDER, 1, min(sectors - 1, 0xFFFF_FFFF))
    begin = loader[:RECORDS_AT].ljust(RECORDS_AT, b"\0")
    return begin + record.ljust(SECTOR - RECORDS_AT - 2, b"\0") + b"\x55\xaa"


def tables(disk: UUID, partitions: Sequence[Partition], sectors: int) -> tuple[bytes, bytes]:
    """The header with its table from sector 1 on, and the copy that ends with the last sector."""
    entries = b"".join(map(_entry, partitions)).ljust(ENTRIES * ENTRY.size, b"\0")
    last = sectors - 1
    primary = _header(disk, entries, sectors, mine=1, other=last, table=2)
    backup = _header(disk, entries, sectors, mine=last, other=1, table=last - TABLE_SECTORS)
    return primary + entries, entries + backup


def read_partitions(begin: bytes, sectors: int) -> tuple[UUID, tuple[Partition, ...]]:
    """The disk's number and its partitions out of the first sectors; raises TableError."""
    header = begin[SECTOR : 2 * SECTOR]
    if len(header) < SECTOR or not header.startswith(SIGNATURE):
        raise TableError("no partition table: sector 1 does not begin with EFI PART")
    (_, _, size, claimed, mine, other, _, _, disk, table, count, width, digest) = HEADER.unpack(
        header[: HEADER.size]
    )
    if size != HEADER.size or _checksum(header[: HEADER.size]) != claimed:
        raise TableError("the partition table's header is damaged (checksum)")
    if (mine, table, count, width) != (1, 2, ENTRIES, ENTRY.size):
        raise TableError("the partition table is laid out otherwise than ours")
    entries = begin[2 * SECTOR : 2 * SECTOR + ENTRIES * ENTRY.size]
    if len(entries) < ENTRIES * ENTRY.size or zlib.crc32(entries) != digest:
        raise TableError("the partition table is damaged (checksum)")
    found = tuple(_partition(fields) for fields in ENTRY.iter_unpack(entries) if any(fields[0]))
    for partition in found:
        if not FIRST_USABLE <= partition.first <= partition.first + partition.sectors <= sectors:
            raise TableError(f"partition {partition.name!r} lies outside; is the image cut short?")
    if other >= sectors:
        raise TableError(f"cut short: {sectors} sectors where the table says {other + 1}")
    return UUID(bytes_le=disk), found


def _entry(partition: Partition) -> bytes:
    last = partition.first + partition.sectors - 1
    name = partition.name.encode("utf-16-le")
    return ENTRY.pack(
        partition.kind.bytes_le, partition.id.bytes_le, partition.first, last, 0, name
    )


def _partition(fields: tuple[bytes, bytes, int, int, int, bytes]) -> Partition:
    kind, own, first, last, _, name = fields
    return Partition(
        kind=UUID(bytes_le=kind),
        id=UUID(bytes_le=own),
        first=first,
        sectors=last - first + 1,
        name=name.decode("utf-16-le", "replace").rstrip("\0"),
    )


def _header(disk: UUID, entries: bytes, sectors: int, **places: int) -> bytes:
    last_usable = sectors - TABLE_SECTORS - 2
    fields = (places["mine"], places["other"], FIRST_USABLE, last_usable, disk.bytes_le)
    table = (places["table"], ENTRIES, ENTRY.size, zlib.crc32(entries))
    blank = HEADER.pack(SIGNATURE, REVISION, HEADER.size, 0, *fields, *table)
    summed = HEADER.pack(SIGNATURE, REVISION, HEADER.size, zlib.crc32(blank), *fields, *table)
    return summed.ljust(SECTOR, b"\0")


def _checksum(header: bytes) -> int:
    """Of a header, with the field that holds it taken as zero (5.3.2)."""
    return zlib.crc32(header[:16] + bytes(4) + header[20:])
