"""Files of a FAT32 volume, read and never written ("FAT32 File System Specification", 1.03)."""

from __future__ import annotations

import struct
from collections.abc import Callable, Iterator
from typing import Final

from closeout.decode.failure import DecodeError
from closeout.decode.fat_boot import SECTOR, decode_fat_boot
from closeout.media.trouble import MediaError
from closeout.model.frozen import frozen

ReadAt = Callable[[int, int], bytes]
"""Bytes of the volume: how many, from where; fewer where it ends."""

ENTRY: Final = 32
LINK: Final = struct.Struct("<I")
FREE: Final = 0xE5
END: Final = 0
LONG_NAME: Final = 0x0F
VOLUME_LABEL: Final = 0x08
FOLDER: Final = 0x10
SMALL_NAME: Final = 0x08
SMALL_ENDING: Final = 0x10
"""Bits of byte 12, as later systems set them instead of a long name."""
CLUSTER_BITS: Final = 0x0FFF_FFFF
FIRST_CLUSTER: Final = 2
LAST_CLUSTERS: Final = 0x0FFF_FFF8
MOST_FILES: Final = 20_000
MOST_FOLDERS_DEEP: Final = 12
MOST_FOLDER_BYTES: Final = 1 << 21
"""65,536 entries: more no folder may hold (section "FAT directory structure")."""


@frozen
class File:
    """One file: its path with `/` between folders, where it begins, and how long it is."""

    path: str
    cluster: int
    size: int


@frozen
class Volume:
    """A volume that was found sound enough to read."""

    read_at: ReadAt
    sector: int
    cluster_sectors: int
    tables_at: int
    content_at: int
    clusters: int
    root: int
    number: str
    label: str

    @property
    def cluster_size(self) -> int:
        """Bytes of one cluster."""
        return self.sector * self.cluster_sectors


def open_volume(read_at: ReadAt, name: str) -> Volume:
    """The volume, by its first sector; raises MediaError where there is none."""
    begin = read_at(0, SECTOR)
    if begin[82:90] != b"FAT32   ":
        raise MediaError(f"{name}: holds no FAT32 volume")
    try:
        named = decode_fat_boot(begin)
    except DecodeError as error:
        raise MediaError(f"{name}: its FAT32 volume is damaged: {error.message}") from error
    sector, per_cluster, reserved, tables = struct.unpack_from("<HBHB", begin, 11)
    sectors, table_sectors, _, _, root = struct.unpack_from("<IIHHI", begin, 32)
    if not per_cluster:
        raise MediaError(f"{name}: its FAT32 volume is damaged: clusters without a sector")
    content = reserved + tables * table_sectors
    return Volume(
        read_at=read_at,
        sector=sector,
        cluster_sectors=per_cluster,
        tables_at=reserved * sector,
        content_at=content * sector,
        clusters=max(0, (sectors - content) // per_cluster),
        root=root,
        number=named.volume_id,
        label=named.label,
    )


def files_in(volume: Volume) -> Iterator[File]:
    """Every file, folder by folder; raises MediaError where a folder is damaged."""
    found = 0
    waiting = [("", volume.root, 0)]
    while waiting:
        folder, cluster, depth = waiting.pop()
        for name, is_folder, first, size in _entries(volume, cluster, folder or "the root"):
            path = f"{folder}{name}"
            found += 1
            if found > MOST_FILES or depth > MOST_FOLDERS_DEEP:
                raise MediaError(f"{path}: more files or folders than a stick of ours can hold")
            if is_folder:
                waiting.append((f"{path}/", first, depth + 1))
            else:
                yield File(path=path, cluster=first, size=size)


def content_of_file(volume: Volume, file: File) -> Iterator[bytes]:
    """A file's content in pieces; raises MediaError where its clusters are damaged."""
    left = file.size
    for run_at, length in _runs(volume, file.cluster, file.path) if left else ():
        piece = volume.read_at(run_at, min(left, length))
        yield piece
        left -= min(left, length)
        if not left:
            return
    if left:
        raise MediaError(f"{file.path}: its clusters end {left} bytes too early; damaged")


def _entries(volume: Volume, cluster: int, folder: str) -> Iterator[tuple[str, bool, int, int]]:
    """Name, whether it is a folder, first cluster and size of all that a folder holds."""
    long_name = ""
    for raw in _raw_entries(volume, cluster, folder):
        if raw[0] == END:
            return
        if raw[0] == FREE:
            long_name = ""
        elif raw[11] & LONG_NAME == LONG_NAME:
            part = (raw[1:11] + raw[14:26] + raw[28:32]).decode("utf-16-le", "replace")
            long_name = part.partition("\0")[0] + long_name
        elif raw[11] & VOLUME_LABEL or raw[0] == ord("."):
            long_name = ""
        else:
            high, low, size = struct.unpack_from("<H4xHI", raw, 20)
            name = long_name or _short_name(raw)
            yield name, bool(raw[11] & FOLDER), high << 16 | low, size
            long_name = ""


def _raw_entries(volume: Volume, cluster: int, folder: str) -> Iterator[bytes]:
    read = 0
    for run_at, length in _runs(volume, cluster, folder):
        read += length
        if read > MOST_FOLDER_BYTES:
            raise MediaError(f"{folder}: a folder that does not end; damaged")
        raw = volume.read_at(run_at, length)
        for at in range(0, len(raw) - ENTRY + 1, ENTRY):
            yield raw[at : at + ENTRY]


def _short_name(raw: bytes) -> str:
    name = raw[:8].decode("cp437").rstrip()
    ending = raw[8:11].decode("cp437").rstrip()
    name = name.lower() if raw[12] & SMALL_NAME else name
    ending = ending.lower() if raw[12] & SMALL_ENDING else ending
    return f"{name}.{ending}" if ending else name


def _runs(volume: Volume, cluster: int, name: str) -> Iterator[tuple[int, int]]:
    """Where the clusters lie, as place and length: those that follow each other as one."""
    if cluster < FIRST_CLUSTER:
        return
    begin = length = 0
    for each in _chain(volume, cluster, name):
        at = volume.content_at + (each - FIRST_CLUSTER) * volume.cluster_size
        if length and at == begin + length and length < MOST_FOLDER_BYTES // 2:
            length += volume.cluster_size
            continue
        if length:
            yield begin, length
        begin, length = at, volume.cluster_size
    yield begin, length


def _chain(volume: Volume, cluster: int, name: str) -> Iterator[int]:
    held = b""
    held_at = -1
    for _ in range(volume.clusters + 1):
        if not FIRST_CLUSTER <= cluster < volume.clusters + FIRST_CLUSTER:
            raise MediaError(f"{name}: leads to cluster {cluster}, which is not there; damaged")
        yield cluster
        block, within = divmod(cluster * LINK.size, volume.sector)
        if block != held_at:
            held = volume.read_at(volume.tables_at + block * volume.sector, volume.sector)
            held_at = block
        entry = held[within : within + LINK.size]
        cluster = int.from_bytes(entry, "little") & CLUSTER_BITS
        if len(entry) < LINK.size or cluster >= LAST_CLUSTERS:
            return
    raise MediaError(f"{name}: its clusters lead in a circle; damaged")
