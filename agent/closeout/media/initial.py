"""The initial file system: a few programs that bring the root into memory and mount it.

Many a firmware reads a stick slowly, so a stick's loader loads these few megabytes alone, and they
fetch the archive that holds the root. Over a network, or where the kernel cannot read the stick,
the loader loads that archive behind them, and there is nothing to fetch.
The layout of both is the kernel's, Documentation/driver-api/early-userspace/buffer-format.rst,
"newc".
"""

from __future__ import annotations

import shutil
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import BinaryIO, Final

from closeout.model.frozen import frozen

ROOT_FILE: Final = "root.squashfs"
FOLDERS: Final = ("above", "bin", "dev", "lower", "modules", "new", "proc", "stick", "sys")
SCRIPT: Final = """#!/bin/busybox sh
# Brings the root into memory and gives it the unit. Of disks it reads the stick, and no other.
export PATH=/bin
busybox mount -t devtmpfs dev /dev
busybox mount -t proc proc /proc
stop() { echo "closeout: cannot start from this stick: $1"; exec busybox sleep 1000000; }
load() { for module; do busybox insmod /modules/$module || echo "module $module"; done; }
first=/sbin/init
for option in $(busybox cat /proc/cmdline); do
    case $option in
        init=*) first=${option#init=} ;;
        closeout.start=*) start=${option#closeout.start=} ;;
    esac
done
# The number of a FAT32 volume is at byte 67; ours is looked for on USB alone.
fetch() {
    for entry in /sys/class/block/sd*; do
        place=$(busybox readlink -f $entry)
        case $place in */usb*) ;; *) continue ;; esac
        device=/dev/${entry##*/}
        number=$(busybox dd if=$device bs=1 skip=67 count=4 2>/dev/null \\
            | busybox hexdump -e '1/4 "%08X"')
        [ "$number" = "${start%-*}${start#*-}" ] || continue
        # A stick answers a large question almost as fast as a small one.
        for queue in $place/queue ${place%/*}/queue; do
            [ ! -e $queue ] || echo 1024 > $queue/read_ahead_kb
        done
        busybox mount -t vfat -o ro $device /stick || continue
        busybox cpio -i < /stick/root.cpio 2>/dev/null || stop "it cannot be read"
        busybox umount /stick
        return 0
    done
    return 1
}
load MOUNTING
if [ ! -e /root.squashfs ]; then
    busybox mount -t sysfs sys /sys
    load FETCHING
    tries=0
    until fetch; do
        tries=$((tries + 1))
        [ $tries -lt 300 ] || stop "not found; press Escape at the start, take the last entry"
        busybox usleep 100000
    done
    busybox umount /sys
fi
busybox mount -t squashfs -o loop,ro /root.squashfs /lower || stop "its root is damaged"
busybox mount -t tmpfs -o mode=0755,size=60% above /above
busybox mkdir /above/files /above/work
busybox mount -t overlay -o lowerdir=/lower,upperdir=/above/files,workdir=/above/work root /new \\
    || stop "too little memory"
busybox mount --move /dev /new/dev
busybox umount /proc
exec busybox switch_root /new $first
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


def initial_entries(
    root: Path, mounting: Iterable[str], fetching: Iterable[str]
) -> Iterator[Entry]:
    """What loads first; the modules are those that mount the root, and those that fetch it."""
    for name in FOLDERS:
        yield Entry(name=name, mode=FOLDER | 0o755)
    yield Entry(name="dev/console", mode=DEVICE | 0o600, device=CONSOLE)
    yield Entry(name="bin/busybox", mode=REGULAR | 0o755, content=root / "usr/bin/busybox")
    script = SCRIPT
    for word, modules in (("MOUNTING", mounting), ("FETCHING", fetching)):
        names: list[str] = []
        for module in modules:
            names.append(Path(module).name)
            yield Entry(name=f"modules/{names[-1]}", mode=REGULAR | 0o644, content=root / module)
        script = script.replace(word, " ".join(names))
    yield Entry(name="init", mode=REGULAR | 0o755, content=script.encode())


def root_entries(packed_root: Path) -> Iterator[Entry]:
    """What is fetched."""
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
