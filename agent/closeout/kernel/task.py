"""A piece of a run: what one reader asks about one place."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from typing import TypeAlias

from closeout.kernel.recorded import RecordedTree
from closeout.kernel.tree import KernelTree
from closeout.model.frozen import frozen


@frozen
class Task:
    """`ask` puts its questions to the tree; what it returns is thrown away.

    What counts is what it asked: the same code, run again over the answers, makes the devices.
    `name` is the reader's kind, for progress and for the list of tasks given up.
    """

    name: str
    ask: Callable[[KernelTree], object]


Round: TypeAlias = Callable[[RecordedTree], Sequence[Task]]
"""Given what is recorded so far, replayed: the tasks to do next."""

Progress: TypeAlias = Callable[[int, int, str], None]
"""Told after each task: how many are done, out of how many, and the name of the task."""


def no_progress(_done: int, _total: int, _name: str) -> None:
    """Tells nobody."""


def run_task(task: Task, tree: KernelTree) -> None:
    """Put the task's questions. A fault in the reader itself ends the task and nothing else.

    It is not hidden: whoever runs the reader over the answers meets the same fault again.
    """
    with suppress(Exception):
        task.ask(tree)
