"""The initial file system: a few programs that mount the root, and the root as one file in it.

Loaded whole by whatever starts the unit, so that from then on everything lies in memory.
The layout of the archive is the kernel's, Documentation/driver-api/early-userspace/
buffer-format.rst, "newc".
"""

from __future__ import annotations

import shutil
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import BinaryIO, Final

from closeout.model.frozen import frozen

ROOT_FILE: Final = "root.squashfs"
FOLDERS: Final = ("above", "bin", "dev", "lower", "modules", "proc", "root", "sys")
SCRIPT: Final = """#!/bin/busybox sh
# Mounts the root that came along in memory, and gives it the unit. Opens no disk.
export PATH=/bin
busybox mount -t devtmpfs dev /dev
busybox mount -t proc proc /proc
stop() { echo "closeout: this stick cannot start here: $1"; exec busybox sleep 1000000; }
for module in MODULES; do busybox insmod /modules/$module || stop "module $module"; done
busybox mount -t squashfs -o loop,ro /root.squashfs /lower || stop "the root is damaged"
busybox mount -t tmpfs -o mode=0755,size=60% above /above || stop "too little memory"
busybox mkdir /above/files /above/work
busybox mount -t overlay -o lowerdir=/lower,upperdir=/above/files,workdir=/above/work root /root \\
    || stop "too little memory"
first=/sbin/init
for option in $(busybox cat /proc/cmdline); do
    case $option in init=*) first=${option#init=} ;; esac
done
busybox mount --move /dev /root/dev
busybox umount /proc
exec busybox switch_root /root $first
"""
REGULAR: Final = 0o100000
FOLDER: Final = 0o040000
DEVICE: Final = 0o020000
CONSOLE: Final = (5, 1)
TRAILER: Final = "TRAILER!!!"
BUFFER: Final = 1 << 20


@frozen
class Entry:
    """One entry of the archive: a folder, a device, or a file with its content on the host."""

    name: str
    mode: int
    content: bytes | Path = b""
    device: tuple[int, int] = (0, 0)

    @property
    def size(self) -> int:
        """Bytes of content."""
        return len(self.content) if isinstance(self.content, bytes) else self._size_of_file()

    def _size_of_file(self) -> int:
        return Path(str(self.content)).stat().st_size


def initial_entries(root: Path, modules: Iterable[str], packed_root: Path) -> Iterator[Entry]:
    """What is in the initial file system of this root."""
    for name in FOLDERS:
        yield Entry(name=name, mode=FOLDER | 0o755)
    yield Entry(name="dev/console", mode=DEVICE | 0o600, device=CONSOLE)
    yield Entry(name="bin/busybox", mode=REGULAR | 0o755, content=root / "usr/bin/busybox")
    names: list[str] = []
    for module in modules:
        names.append(Path(module).name)
        yield Entry(name=f"modules/{names[-1]}", mode=REGULAR | 0o644, content=root / module)
    script = SCRIPT.replace("MODULES", " ".join(names)).encode()
    yield Entry(name="init", mode=REGULAR | 0o755, content=script)
    yield Entry(name=ROOT_FILE, mode=REGULAR | 0o644, content=packed_root)


def write_archive(entries: Iterable[Entry], archive: Path, when: int) -> None:
    """Writes the archive; the same entries give the same bytes."""
    with archive.open("wb") as stream:
        number = 0
        for number, entry in enumerate(entries, start=1):
            _write_entry(stream, entry, number, when)
        _write_entry(stream, Entry(name=TRAILER, mode=0), number + 1, 0)


def _write_entry(stream: BinaryIO, entry: Entry, number: int, when: int) -> None:
    name = entry.name.encode() + b"\0"
    links = 2 if entry.mode & FOLDER == FOLDER else 1
    fields = (number, entry.mode, 0, 0, links, when, entry.size, 0, 0, *entry.device)
    header = b"070701" + b"".join(b"%08X" % value for value in (*fields, len(name), 0))
    stream.write(header + name + _padding(len(header) + len(name)))
    if isinstance(entry.content, bytes):
        stream.write(entry.content)
    else:
        with entry.content.open("rb") as content:
            shutil.copyfileobj(content, stream, BUFFER)
    stream.write(_padding(entry.size))


def _padding(length: int) -> bytes:
    return bytes(-length % 4)
