"""A replayed machine is asked once for what several readers begin with, a live one each time."""

import gc
import weakref

from closeout.kernel.recorded import RecordedTree
from closeout.kernel.tree import KernelTree
from closeout.readers.asked_once import AskedOnce
from strategies.drawn_tree import DrawnTree


def _counting() -> tuple[AskedOnce[str], list[str]]:
    asked: list[str] = []

    def read(_tree: KernelTree, place: str) -> str:
        asked.append(place)
        return f"of {place}"

    return AskedOnce(read), asked


def test_a_replayed_machine_is_asked_once_for_each_place() -> None:
    read, asked = _counting()
    tree = RecordedTree({})
    assert [read(tree, place) for place in ("a", "b", "a", "b")] == ["of a", "of b"] * 2
    assert asked == ["a", "b"]


def test_another_machine_is_asked_for_itself() -> None:
    read, asked = _counting()
    for tree in (RecordedTree({}), RecordedTree({})):
        read(tree, "a")
    assert asked == ["a", "a"]


def test_a_machine_that_is_not_replayed_is_asked_each_time() -> None:
    read, asked = _counting()
    tree = DrawnTree(files={"sys/x": b"1"})
    for _ in range(2):
        read(tree, "a")
    assert asked == ["a", "a"]


def test_what_is_kept_goes_with_the_machine() -> None:
    read, _ = _counting()
    tree = RecordedTree({})
    read(tree, "a")
    gone = weakref.ref(tree)
    del tree
    gc.collect()
    assert gone() is None
