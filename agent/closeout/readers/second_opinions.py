"""Second opinions held against our own readings: what other libraries tell otherwise.

Where a source has no opinion to offer, a folder say, each reading is unreadable with the
source's own word for it.
Kernel path: `sys/class`, whose folders say that this is a machine at all.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from closeout.kernel.tree import KernelTree
from closeout.model.device import Position
from closeout.model.inventory import Listing
from closeout.model.reading import Absent, Unreadable, Value
from closeout.model.second_opinions import SecondOpinions
from closeout.readers.attributes import ALWAYS_THERE, CLASSES, list_folder
from closeout.readers.reader import Reader
from closeout.readers.second_opinions_cpuinfo import ask_cpuinfo
from closeout.readers.second_opinions_heard import Comparison
from closeout.readers.second_opinions_psutil import ask_psutil
from closeout.readers.second_opinions_pyudev import ask_pyudev
from closeout.readers.second_opinions_sensors import ask_psutil_of_sensors

PLACE: Final = "opinions"


def find_second_opinions(tree: KernelTree) -> Listing:
    """One place wherever there is a machine; each reading says whether its library was heard."""
    classes = list_folder(tree, CLASSES)
    if not isinstance(classes, Value):
        return classes
    if ALWAYS_THERE not in classes.value:
        return Absent(
            reason="the classes that every kernel shows are missing", sources=classes.sources
        )
    return Value(value=(PLACE,), sources=classes.sources)


def read_second_opinions(tree: KernelTree, place: str) -> SecondOpinions:
    """What each library tells otherwise."""
    return SecondOpinions(
        place=place,
        label="second opinions",
        position=Position.INTERNAL,
        psutil_disagreements=_sum_up((*ask_psutil(tree), *ask_psutil_of_sensors(tree))),
        pyudev_disagreements=_sum_up(ask_pyudev(tree)),
        cpuinfo_disagreements=_sum_up(ask_cpuinfo(tree)),
    )


def _sum_up(comparisons: Iterable[Comparison]) -> Comparison:
    """Every disagreement; without one, what could not be read leaves the agreement open."""
    parts = tuple(comparisons)
    sources = tuple(dict.fromkeys(source for part in parts for source in part.sources))
    compared = [part for part in parts if isinstance(part, Value)]
    texts = tuple(text for part in compared for text in part.value)
    unread = [part for part in parts if isinstance(part, Unreadable)]
    if unread and not texts:
        return unread[0]
    if not compared:
        return Absent(reason="there is nothing that both could tell", sources=sources)
    return Value(value=texts, sources=sources)


READERS: Final = (
    Reader(kind="second_opinions", find=find_second_opinions, read=read_second_opinions),
)
