"""Files in a FAT32 image, read sector by sector: what a person finds after a cut.

After fatgen103: directories (page 22), long names (page 27), chains of clusters (page 16). A chain
that ends too early gives the file as far as it goes.
"""

from collections.abc import Iterator, Mapping
from typing import Final

ENTRY: Final = 32
LONG: Final = 0x0F
FOLDER: Final = 0x10
VOLUME: Final = 0x08
ENDS: Final = 0x0FFF_FFF8


class DeskReader:
    """The files below a folder of a volume that begins at a byte of the image."""

    def __init__(self, image: bytearray, begin: int) -> None:
        self._image = image
        boot = image[begin : begin + 512]
        self._sector = int.from_bytes(boot[11:13], "little")
        self._cluster = boot[13] * self._sector
        self._table = begin + int.from_bytes(boot[14:16], "little") * self._sector
        size = int.from_bytes(boot[36:40], "little") * self._sector
        self._content = self._table + boot[16] * size
        self._root = int.from_bytes(boot[44:48], "little")

    def files(self, folder: str) -> Mapping[str, bytes]:
        """Names and contents of a folder at the root; nothing where it is not there."""
        for name, is_folder, first, _ in self._entries(self._root):
            if is_folder and name.casefold() == folder.casefold():
                return {
                    inside: self._read(start, size)
                    for inside, nested, start, size in self._entries(first)
                    if not nested
                }
        return {}

    def _entries(self, first: int) -> Iterator[tuple[str, bool, int, int]]:
        raw = self._read(first, None)
        long_name = b""
        for place in range(0, len(raw), ENTRY):
            entry = raw[place : place + ENTRY]
            if not entry[0]:
                return
            if entry[0] == 0xE5 or (entry[11] & VOLUME and entry[11] != LONG):
                long_name = b""
                continue
            if entry[11] == LONG:
                long_name = entry[1:11] + entry[14:26] + entry[28:32] + long_name
                continue
            start = int.from_bytes(entry[20:22] + b"", "little") << 16
            start |= int.from_bytes(entry[26:28], "little")
            size = int.from_bytes(entry[28:32], "little")
            name = _long(long_name) or _short(entry)
            long_name = b""
            if name not in {".", ".."}:
                yield name, bool(entry[11] & FOLDER), start, size

    def _read(self, first: int, size: int | None) -> bytes:
        """A chain's content; as long as the file is, or as far as the chain goes."""
        found, cluster, seen = b"", first, set[int]()
        while 2 <= cluster < ENDS and cluster not in seen:
            if size is not None and len(found) >= size:
                break
            seen.add(cluster)
            place = self._content + (cluster - 2) * self._cluster
            found += self._image[place : place + self._cluster]
            entry = self._table + cluster * 4
            cluster = int.from_bytes(self._image[entry : entry + 4], "little") & 0x0FFF_FFFF
        return found if size is None else found[:size]


def _long(raw: bytes) -> str:
    text = raw.decode("utf-16-le", "replace")
    return text.partition("\0")[0].rstrip("\uffff")


def _short(entry: bytes) -> str:
    stem, suffix = (
        entry[part].decode("ascii", "replace").rstrip() for part in (slice(8), slice(8, 11))
    )
    return f"{stem}.{suffix}" if suffix else stem
