"""The image of a stick: three partitions, and the tables around them, in one sparse file.

sector 0      the start program for BIOS, the protective record
sector 34     partition 3, the second part of the loader for BIOS
sector 2048   partition 1, what desktops show: orders, profiles, reports
behind it     partition 2, what UEFI starts: loaders, kernel, initial file system
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Final

from closeout.media.numbers import Numbers
from closeout.media.partitions import (
    BIOS_LOADER,
    DESKTOP_FILES,
    FIRST_USABLE,
    SECTOR,
    TABLE_SECTORS,
    UEFI_FILES,
    Partition,
    protective_record,
    tables,
)
from closeout.model.frozen import frozen

ALIGNED: Final = 2048
"""Sectors; a partition begins at whole mebibytes."""
SHARED_NAME: Final = "closeout"
BOOT_NAME: Final = "closeout start"
LOADER_NAME: Final = "BIOS loader"
BUFFER: Final = 1 << 20
NOTHING: Final = bytes(BUFFER)
LOADER_SECTORS: Final = ALIGNED - FIRST_USABLE


def partitions_of(numbers: Numbers, shared_size: int, boot_size: int) -> tuple[Partition, ...]:
    """The partitions in the order of their numbers."""
    shared_sectors = shared_size // SECTOR
    laid = (
        (DESKTOP_FILES, ALIGNED, shared_sectors, SHARED_NAME),
        (UEFI_FILES, ALIGNED + shared_sectors, boot_size // SECTOR, BOOT_NAME),
        (BIOS_LOADER, FIRST_USABLE, LOADER_SECTORS, LOADER_NAME),
    )
    return tuple(
        Partition(kind=kind, id=numbers.guid(name), first=first, sectors=sectors, name=name)
        for kind, first, sectors, name in laid
    )


@frozen
class Content:
    """What goes into the image."""

    shared: Path
    boot: Path
    start_program: bytes
    loader: bytes


def write_image(image: Path, numbers: Numbers, content: Content) -> tuple[Partition, ...]:
    """Writes the image and tells its partitions."""
    partitions = partitions_of(numbers, content.shared.stat().st_size, content.boot.stat().st_size)
    end = max(partition.first + partition.sectors for partition in partitions)
    sectors = -(-(end + TABLE_SECTORS + 1) // ALIGNED) * ALIGNED
    primary, backup = tables(numbers.guid("disk"), partitions, sectors)
    with image.open("wb") as stream:
        stream.truncate(sectors * SECTOR)
        stream.write(protective_record(sectors, content.start_program) + primary)
        for partition, pieces in zip(
            partitions,
            (_pieces(content.shared), _pieces(content.boot), iter([content.loader])),
            strict=True,
        ):
            stream.seek(partition.offset)
            for piece in pieces:
                if piece != NOTHING[: len(piece)]:
                    stream.write(piece)
                else:
                    stream.seek(len(piece), 1)
        stream.seek(sectors * SECTOR - len(backup))
        stream.write(backup)
    return partitions


def _pieces(file: Path) -> Iterator[bytes]:
    with file.open("rb") as stream:
        while piece := stream.read(BUFFER):
            yield piece
