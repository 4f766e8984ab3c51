"""What several readers ask of one place of a machine, worked out once.

A replayed machine answers as it once did, however often it is asked, and a reading of many files
that nine kinds of device begin with need not be made nine times; of the texts of attributes two in
five are read more than once. A machine that is not replayed may have changed since, and is asked
anew.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Generic, TypeVar

from closeout.kernel.recorded import RecordedTree
from closeout.kernel.tree import KernelTree

T = TypeVar("T")


class AskedOnce(Generic[T]):
    """A reading of a place that is kept for as long as the replayed machine is."""

    def __init__(self, read: Callable[[KernelTree, str], T]) -> None:
        self._read = read

    def __call__(self, tree: KernelTree, place: str) -> T:
        """The reading."""
        if not isinstance(tree, RecordedTree):
            return self._read(tree, place)
        kept: dict[str, T] = tree.worked_out[self]
        if place not in kept:
            kept[place] = self._read(tree, place)
        return kept[place]
