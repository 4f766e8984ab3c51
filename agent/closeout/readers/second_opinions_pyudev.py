"""What pyudev tells otherwise than our own reader of udev's database.

Kernel paths of ours: `sys/block/*/dev` and `run/udev/data`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from closeout.decode.second_opinions import decode_disks
from closeout.kernel.question_names import DISK_PROPERTIES, DISKS
from closeout.kernel.tree import KernelTree
from closeout.model.reading import Absent, Reading, Unreadable, Value
from closeout.readers.attributes import list_folder
from closeout.readers.places import locate
from closeout.readers.second_opinions_heard import Comparison, hear, show_texts
from closeout.readers.storage import BLOCK, NO_DRIVE
from closeout.readers.udev_copy import read_udev


def ask_pyudev(tree: KernelTree) -> Iterator[Comparison]:
    """Every disk that either of both lists, without those that are no hardware."""
    theirs = hear(tree, DISKS, decode_disks)
    names = list_folder(tree, BLOCK)
    if not isinstance(theirs, Value):
        yield theirs
        return
    if not isinstance(names, Value):
        yield names
        return
    for name in sorted({*names.value, *theirs.value}):
        if NO_DRIVE.fullmatch(name):
            continue
        ours = _read_disk(tree, name) if name in names.value else _unlisted(names.sources)
        yield _compare_disk(name, ours, theirs.value.get(name, {}))


def _read_disk(tree: KernelTree, name: str) -> Reading[Mapping[str, str]]:
    return read_udev(tree, locate(tree, f"{BLOCK}/{name}"))


def _unlisted(sources: tuple[str, ...]) -> Absent:
    return Absent(reason="the kernel lists no such disk", sources=sources)


def _compare_disk(
    name: str, ours: Reading[Mapping[str, str]], theirs: Mapping[str, str]
) -> Comparison:
    """Serial and model; what udev keeps nothing of is compared as not told."""
    if isinstance(ours, Unreadable):
        return ours
    mine: Mapping[str, str] = ours.value if isinstance(ours, Value) else {}
    pairs = [
        (key, mine.get(key, "").strip(), theirs.get(key, "").strip()) for key in DISK_PROPERTIES
    ]
    sources = (DISKS, *ours.sources)
    if not any(own or other for _, own, other in pairs):
        return Absent(reason="neither tells of this disk", sources=sources)
    texts = tuple(
        f"{name} {key}: ours {show_texts(own)}, pyudev {show_texts(other)}"
        for key, own, other in pairs
        if own != other
    )
    return Value(value=texts, sources=sources)
