"""A child does a share of the tasks: what goes wrong in one of them costs the others nothing."""

import errno
import os
import signal
import time
from collections.abc import Callable
from functools import partial

import pytest

from closeout.kernel import crew_child
from closeout.kernel.crew import gather
from closeout.kernel.crew_terms import CrewTerms
from closeout.kernel.failure import ReadError
from closeout.kernel.record import Answer, Failure, Journal
from closeout.kernel.replies import RepliesBy
from closeout.kernel.task import Task
from closeout.kernel.tree import KernelTree

pytestmark = [
    pytest.mark.usefixtures("lone"),
    pytest.mark.filterwarnings("ignore:.*fork:DeprecationWarning"),
]

BUDGET = 0.3


def read_task(name: str, *paths: str) -> Task:
    def ask(tree: KernelTree) -> None:
        for path in paths:
            try:
                tree.read(path)
            except ReadError:
                continue

    return Task(name=name, ask=ask)


def unit(**events: Callable[[], object]) -> KernelTree:
    """Every file holds its own name; some do something before they answer."""

    def answer(question: object) -> Answer:
        text = str(getattr(question, "text", ""))
        events.get(text, int)()
        return text.encode()

    return RepliesBy(answer)


def terms(children: int, told: list[str]) -> CrewTerms:
    return CrewTerms(
        clock=time.monotonic_ns,
        until=time.monotonic_ns() + 30_000_000_000,
        budget=lambda _: BUDGET,
        children=children,
        progress=lambda _done, _total, name: told.append(name),
    )


def run(tasks: list[Task], tree: KernelTree) -> tuple[dict[str, Answer], list[str]]:
    """What one child for all tasks comes to: each answer, and the tasks in their order."""
    told: list[str] = []
    journal: Journal = {}
    assert gather(tasks, tree, journal, terms(1, told)) == ()
    return {question.text: record.answer for question, record in journal.items()}, told


def test_what_hangs_in_a_share_costs_its_question_and_no_other_task() -> None:
    tasks = [read_task("before", "a"), read_task("stuck", "b", "c", "d"), read_task("behind", "e")]
    answers, told = run(tasks, unit(c=partial(time.sleep, 3600)))
    stuck = answers.pop("c")
    assert isinstance(stuck, Failure)
    assert stuck.number == errno.ETIMEDOUT
    assert answers == {"a": b"a", "b": b"b", "d": b"d", "e": b"e"}
    assert told == ["before", "stuck", "behind"]


def test_a_death_in_a_share_costs_its_question_and_no_other_task() -> None:
    def die() -> None:
        os.kill(os.getpid(), signal.SIGSEGV)

    tasks = [read_task("one", "a"), read_task("two", "b"), read_task("three", "c")]
    answers, told = run(tasks, unit(b=die))
    dead = answers.pop("b")
    assert isinstance(dead, Failure)
    assert dead.number == errno.EIO
    assert answers == {"a": b"a", "c": b"c"}
    assert told == ["one", "two", "three"]


def test_as_many_processes_as_children_not_as_tasks(pretend: Callable[..., None]) -> None:
    started: list[int] = []

    def fork() -> int:
        started.append(1)
        return os.fork()

    pretend(crew_child, "os", fork=fork)
    told: list[str] = []
    tasks = [read_task(str(number), str(number)) for number in range(20)]
    gather(tasks, unit(), {}, terms(3, told))
    assert len(started) == 3
    assert sorted(told, key=int) == [str(number) for number in range(20)]
