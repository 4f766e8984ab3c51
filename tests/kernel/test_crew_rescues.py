"""What goes wrong around a child itself: it cannot be had, is gone, or buried by another."""

import errno
import os
import signal
from collections.abc import Callable
from functools import partial
from time import monotonic_ns

import pytest

from closeout.kernel import crew_child
from closeout.kernel.crew import gather
from closeout.kernel.crew_terms import CrewTerms, kill_now
from closeout.kernel.record import Question, Record
from closeout.kernel.recorded import RecordedTree
from closeout.kernel.task import Task
from closeout.kernel.tree import KernelTree
from strategies.drawn_tree import DrawnTree

pytestmark = [
    pytest.mark.usefixtures("lone"),
    pytest.mark.filterwarnings("ignore:.*fork:DeprecationWarning"),
]


def lowest_free_descriptor() -> int:
    descriptor = os.dup(1)
    os.close(descriptor)
    return descriptor


def read_one(path: str, tree: KernelTree) -> bytes:
    return tree.read(path)


def test_a_child_that_could_not_be_had_leaves_nothing_open(pretend: Callable[..., None]) -> None:
    def refuse() -> int:
        raise BlockingIOError(errno.EAGAIN, "no more processes")

    pretend(crew_child, "os", fork=refuse)
    before = lowest_free_descriptor()
    with pytest.raises(BlockingIOError):
        crew_child.start_child(lambda _: None)
    assert lowest_free_descriptor() == before


def test_children_that_another_has_buried_are_not_missed() -> None:
    before = signal.signal(signal.SIGCHLD, signal.SIG_IGN)  # as `nohup` and some shells leave it
    journal = dict[Question, Record]()
    try:
        tasks = [Task(name=name, ask=partial(read_one, name)) for name in ("a", "b")]
        tree = DrawnTree(files={"a": b"a", "b": b"b"})
        terms = CrewTerms(clock=monotonic_ns, until=monotonic_ns() + 30 * 10**9)
        assert gather(tasks, tree, journal, terms) == ()
    finally:
        signal.signal(signal.SIGCHLD, before)
    replayed = RecordedTree(journal)
    assert [replayed.read(name) for name in ("a", "b")] == [b"a", b"b"]


def test_a_child_that_is_gone_needs_no_killing() -> None:
    pid = os.fork()
    if pid == 0:
        os._exit(0)
    os.waitpid(pid, 0)
    kill_now(pid)
