"""FAT32 volumes built from files ("FAT32 File System Specification", 1.03), for the reader."""

import struct
from collections.abc import Iterator, Mapping
from typing import Final

from closeout.media.fat_reader import Volume, content_of_file, files_in

SECTOR: Final = 512
RESERVED: Final = 32
END: Final = 0x0FFF_FFFF
ROOT: Final = 2
FOLDER: Final = 0x10
NAME_PARTS: Final = ((1, 5), (14, 6), (28, 2))
"""Where a long name's characters lie in its entry: place and how many."""


def build_fat32(
    files: Mapping[str, bytes], number: int = 0x1234_ABCD, label: str = "", spare: int = 8
) -> bytes:
    """A volume of clusters of one sector with these files, their folders, and spare clusters."""
    clusters = _Clusters()
    clusters.store(ROOT, _folder_content(_tree(files), clusters))
    count = len(clusters.chain) + spare
    table_sectors = -(-(count + 2) * 4 // SECTOR)
    table = bytearray(table_sectors * SECTOR)
    struct.pack_into("<II", table, 0, 0x0FFF_FFF8, END)
    for cluster, follower in clusters.chain.items():
        struct.pack_into("<I", table, cluster * 4, follower)
    content = b"".join(
        clusters.content.get(cluster, bytes(SECTOR)) for cluster in range(2, count + 2)
    )
    sectors = RESERVED + 2 * table_sectors + count
    begin = bytearray(RESERVED * SECTOR)
    struct.pack_into("<HBHB", begin, 11, SECTOR, 1, RESERVED, 2)
    struct.pack_into("<IIHHI", begin, 32, sectors, table_sectors, 0, 0, ROOT)
    begin[66] = 0x29  # a number and a label follow
    struct.pack_into("<I", begin, 67, number)
    begin[71:82] = label.ljust(11).encode()
    begin[82:90] = b"FAT32   "
    begin[510:512] = b"\x55\xaa"
    return bytes(begin) + bytes(table) * 2 + content


def read_files(volume: Volume) -> dict[str, bytes]:
    """What the product's reader finds in a volume."""
    return {file.path: b"".join(content_of_file(volume, file)) for file in files_in(volume)}


class _Clusters:
    """What lies in which cluster, and which follows which."""

    def __init__(self) -> None:
        self.content: dict[int, bytes] = {}
        self.chain: dict[int, int] = {ROOT: END}

    def store(self, first: int, content: bytes) -> None:
        """Puts content into a chain that begins with a cluster that was taken before."""
        at = first
        for begin in range(0, len(content), SECTOR):
            if begin:
                at = self._follow(at)
            self.content[at] = content[begin : begin + SECTOR].ljust(SECTOR, b"\0")

    def take(self) -> int:
        """A free cluster."""
        cluster = max(self.chain) + 1
        self.chain[cluster] = END
        return cluster

    def _follow(self, cluster: int) -> int:
        self.chain[cluster] = self.take()
        return self.chain[cluster]


Tree = dict[str, "bytes | Tree"]


def _tree(files: Mapping[str, bytes]) -> Tree:
    top: Tree = {}
    for path, content in files.items():
        *folders, name = path.split("/")
        place = top
        for folder in folders:
            inside = place.setdefault(folder, {})
            assert isinstance(inside, dict)
            place = inside
        if name:
            place[name] = content
    return top


def _folder_content(tree: Tree, clusters: _Clusters) -> bytes:
    entries: list[bytes] = []
    for index, (name, inside) in enumerate(tree.items()):
        content = _folder_content(inside, clusters) if isinstance(inside, dict) else inside
        first = clusters.take() if content or isinstance(inside, dict) else 0
        clusters.store(first, content)
        short = f"FILE{index:04}".encode().ljust(11)
        entries += _long_entries(name)
        kind = FOLDER if isinstance(inside, dict) else 0
        size = 0 if kind else len(content)
        entries.append(_entry(short, kind, first, size))
    return b"".join(entries) + bytes(32)


def _entry(short: bytes, kind: int, first: int, size: int) -> bytes:
    entry = bytearray(short.ljust(32, b"\0"))
    entry[11] = kind
    struct.pack_into("<H4xHI", entry, 20, first >> 16, first & 0xFFFF, size)
    return bytes(entry)


def _long_entries(name: str) -> Iterator[bytes]:
    """The entries of a long name, the last part first."""
    units = name.encode("utf-16-le")
    parts = [units[at : at + 26] for at in range(0, len(units), 26)]
    for number in range(len(parts), 0, -1):
        part = parts[number - 1]
        whole = part if len(part) == 26 else (part + b"\0\0").ljust(26, b"\xff")
        entry = bytearray(32)
        entry[0] = number | (0x40 if number == len(parts) else 0)
        entry[11] = 0x0F
        for at, length in NAME_PARTS:
            entry[at : at + length * 2], whole = whole[: length * 2], whole[length * 2 :]
        yield bytes(entry)
