"""No device holds up the run: hanging, dying and slow reads, with children that are real."""

import errno
import os
import signal
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from unittest.mock import Mock

import pytest

from closeout.kernel import crew, crew_child
from closeout.kernel.crew import gather
from closeout.kernel.crew_terms import CrewTerms, kill_now
from closeout.kernel.failure import ReadError, Reason
from closeout.kernel.record import Journal, Kind, Question, put
from closeout.kernel.recorded import RecordedTree
from closeout.kernel.recorder import Recorder
from closeout.kernel.task import Task, run_task
from closeout.kernel.tree import KernelTree
from strategies.drawn_tree import DrawnTree
from strategies.msdm import MsdmPlan, build_msdm

pytestmark = [
    pytest.mark.usefixtures("lone"),
    pytest.mark.filterwarnings("ignore:.*fork:DeprecationWarning"),
]

BUDGET = 0.3
SOON = 2.5
"""Seconds: several budgets, and far less than a hanging read would take."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Unit:
    """A drawn tree some of whose files do something before they answer."""

    tree: DrawnTree
    events: dict[str, Callable[[], object]] = field(default_factory=dict)

    def read(self, path: str) -> bytes:
        """What is drawn, after the event."""
        self.events.get(path, int)()
        return self.tree.read(path)

    def names(self, folder: str) -> tuple[str, ...]:
        """What is drawn."""
        return self.tree.names(folder)

    def target(self, link: str) -> str:
        """What is drawn."""
        return self.tree.target(link)

    def ask(self, question: str) -> bytes:
        """What is drawn."""
        return self.tree.ask(question)


hang = partial(time.sleep, 3600)


def die() -> None:
    os.kill(os.getpid(), signal.SIGSEGV)


def read_task(name: str, *paths: str) -> Task:
    return Task(name=name, ask=partial(read_all, paths))


def read_all(paths: tuple[str, ...], tree: KernelTree) -> list[bytes]:
    found = []
    for path in paths:
        try:
            found.append(tree.read(path))
        except ReadError:
            continue
    return found


@pytest.fixture
def killed() -> Iterator[list[int]]:
    """The children that were to be killed, and are not until the test is over."""
    pids: list[int] = []
    yield pids
    for pid in pids:
        kill_now(pid)


def terms(seconds: float = 30.0, **changes: object) -> CrewTerms:
    given: dict[str, object] = {
        "clock": time.monotonic_ns,
        "until": time.monotonic_ns() + int(seconds * 1e9),
        "budget": lambda _: BUDGET,
    }
    return CrewTerms(**(given | changes))  # type: ignore[arg-type]  # the names are the fields'


def code_of(journal: Journal, path: str) -> str:
    with pytest.raises(ReadError) as caught:
        RecordedTree(journal).read(path)
    return caught.value.code


def contents(journal: Journal) -> dict[str, bytes]:
    tree = RecordedTree(journal)
    return {question.text: tree.read(question.text) for question in journal}


def files(*paths: str) -> dict[str, bytes | int]:
    return {path: path.encode() for path in paths}


def test_answers_are_those_of_an_inline_run() -> None:
    tree = DrawnTree(files=files("a/x", "b/x") | {"b/y": errno.EIO}, links={"l": "a"})

    def ask(asked: KernelTree) -> None:
        for text in ("a", "l", "a/x", "b/y", "nothing"):
            for kind in Kind:
                put(asked, Question(kind=kind, text=text))

    tasks = [read_task("files", "a/x", "b/x", "b/y"), Task(name="all", ask=ask)]
    journal: Journal = {}
    assert gather(tasks, tree, journal, terms()) == ()
    recorder = Recorder(tree, lambda: 0)
    for task in tasks:
        run_task(task, recorder)
    assert {question: record.answer for question, record in journal.items()} == {
        question: record.answer for question, record in recorder.journal.items()
    }


def test_a_hanging_read_costs_its_deadline_and_nothing_else() -> None:
    unit = Unit(tree=DrawnTree(files=files("a", "hang", "b", "c")), events={"hang": hang})
    journal: Journal = {}
    start = time.monotonic()
    gather([read_task("one", "a", "hang", "b"), read_task("two", "c")], unit, journal, terms())
    assert BUDGET <= time.monotonic() - start < SOON
    failed = journal.pop(Question(kind=Kind.READ, text="hang"))
    assert getattr(failed.answer, "reason", None) is Reason.DEADLINE
    assert getattr(failed.answer, "number", None) == errno.ETIMEDOUT
    assert BUDGET * 1e6 <= failed.microseconds < SOON * 1e6
    assert contents(journal) == {"a": b"a", "b": b"b", "c": b"c"}


def test_a_child_that_cannot_be_killed_is_not_waited_for(killed: list[int]) -> None:
    unit = Unit(tree=DrawnTree(files=files("a", "hang", "b")), events={"hang": hang})
    journal: Journal = {}
    start = time.monotonic()
    assert (
        gather([read_task("one", "a", "hang", "b")], unit, journal, terms(kill=killed.append)) == ()
    )
    assert time.monotonic() - start < SOON
    (stuck,) = killed
    assert os.waitpid(stuck, os.WNOHANG) == (0, 0)
    assert code_of(journal, "hang") == "DEADLINE"
    assert RecordedTree(journal).read("b") == b"b"


def test_a_task_that_keeps_hanging_is_given_up_with_every_question_answered() -> None:
    paths = ["a", "h1", "h2", "h3", "h4", "b"]
    unit = Unit(
        tree=DrawnTree(files=files(*paths)), events={f"h{number}": hang for number in range(1, 5)}
    )
    journal: Journal = {}
    start = time.monotonic()
    given_up = gather([read_task("hopeless", *paths)], unit, journal, terms(strikes=3))
    assert given_up == ("hopeless",)
    assert 3 * BUDGET <= time.monotonic() - start < 3 * BUDGET + SOON
    assert RecordedTree(journal).read("a") == b"a"
    assert [code_of(journal, path) for path in paths[1:]] == ["DEADLINE"] * 5


def test_a_question_known_to_hang_is_not_waited_for_again() -> None:
    unit = Unit(
        tree=DrawnTree(files=files("hang", *"abcd")),
        events={"hang": hang, "b": partial(time.sleep, BUDGET / 2)},
    )
    tasks = [read_task("first", "hang", "a"), read_task("second", "b", "hang", "c", "d")]
    journal: Journal = {}
    start = time.monotonic()
    assert gather(tasks, unit, journal, terms(strikes=1, children=2)) == ("first",)
    assert time.monotonic() - start < SOON
    assert RecordedTree(journal).read("d") == b"d"


def test_a_child_that_dies_costs_its_question_only() -> None:
    unit = Unit(tree=DrawnTree(files=files("a", "die", "b")), events={"die": die})
    journal: Journal = {}
    assert gather([read_task("one", "a", "die", "b")], unit, journal, terms()) == ()
    assert code_of(journal, "die") == "DIED"
    assert RecordedTree(journal).read("b") == b"b"


def test_a_task_that_dies_between_its_questions_is_given_up() -> None:
    def ask(tree: KernelTree) -> None:
        tree.read("a")
        if os.getpid() != parent:
            die()
        tree.read("b")

    parent = os.getpid()
    journal: Journal = {}
    tasks = [Task(name="dying", ask=ask)]
    assert gather(tasks, DrawnTree(files=files("a", "b")), journal, terms()) == ("dying",)
    assert RecordedTree(journal).read("a") == b"a"
    assert code_of(journal, "b") == "DIED"


def test_a_fault_of_a_reader_ends_its_task_alone() -> None:
    def ask(tree: KernelTree) -> None:
        tree.read("a")
        raise ZeroDivisionError

    journal: Journal = {}
    tasks = [Task(name="faulty", ask=ask), read_task("sound", "b")]
    assert gather(tasks, DrawnTree(files=files("a", "b")), journal, terms()) == ()
    assert contents(journal) == {"a": b"a", "b": b"b"}


def test_the_run_has_an_end_whatever_hangs() -> None:
    paths = [f"h{number}" for number in range(6)]
    unit = Unit(tree=DrawnTree(files=files("a", *paths)), events=dict.fromkeys(paths, hang))
    tasks = [read_task(path, path, "a") for path in paths]
    journal: Journal = {}
    start = time.monotonic()
    given_up = gather(tasks, unit, journal, terms(0.3, budget=lambda _: 60, children=2))
    assert 0.3 <= time.monotonic() - start < SOON
    assert sorted(given_up) == paths
    assert {code_of(journal, path) for path in (*paths, "a")} == {"DEADLINE"}


def test_after_the_end_nothing_is_asked() -> None:
    tree = DrawnTree(files=files("a"))
    journal: Journal = {}
    assert gather([read_task("late", "a")], tree, journal, terms(-1)) == ("late",)
    assert code_of(journal, "a") == "DEADLINE"


def test_devices_are_read_side_by_side_and_a_device_one_read_at_a_time() -> None:
    slow = [f"dev{device}/{read}" for device in range(6) for read in range(4)]
    unit = Unit(
        tree=DrawnTree(files=files(*slow)), events=dict.fromkeys(slow, partial(time.sleep, 0.05))
    )
    tasks = [read_task(f"dev{device}", *slow[4 * device : 4 * device + 4]) for device in range(6)]
    journal: Journal = {}
    start = time.monotonic()
    gather(tasks, unit, journal, terms(budget=lambda _: 5))
    assert 4 * 0.05 <= time.monotonic() - start < len(slow) * 0.05
    assert len(journal) == len(slow)


def test_no_more_children_than_allowed(tmp_path: Path) -> None:
    def ask(number: int, tree: KernelTree) -> None:
        mark = tmp_path / str(os.getpid())
        mark.touch()
        time.sleep(0.05)
        (tmp_path / f"seen{number}").write_text(str(len(list(tmp_path.glob("[0-9]*")))))
        mark.unlink()
        tree.read("a")

    tasks = [Task(name=str(number), ask=partial(ask, number)) for number in range(7)]
    gather(tasks, DrawnTree(files=files("a")), {}, terms(children=2))
    seen = [int(path.read_text()) for path in tmp_path.glob("seen*")]
    assert len(seen) == 7
    assert max(seen) == 2


def test_the_first_answer_stays_and_a_misled_task_is_put_again() -> None:
    """Two children read one file at different times; what a replay asks is always there."""
    unit = Unit(
        tree=DrawnTree(files=files("other", "same")),
        events={"slow": partial(time.sleep, 0.1)},
    )

    class Changing:
        def read(self, path: str) -> bytes:
            unit.events.get(path, int)()
            return str(os.getpid()).encode() if path == "status" else path.encode()

        names, target, ask = unit.names, unit.target, unit.ask

    def follow(tree: KernelTree) -> None:
        tree.read("slow")
        tree.read(f"about {tree.read('status').decode()}")

    tasks = [read_task("first", "status"), Task(name="second", ask=follow)]
    journal: Journal = {}
    assert gather(tasks, Changing(), journal, terms(budget=lambda _: 5)) == ()
    replayed = RecordedTree(journal)
    follow(replayed)
    assert len(journal) == 4


def test_what_is_known_is_not_asked_again() -> None:
    journal: Journal = {}
    gather([read_task("one", "a")], DrawnTree(files=files("a")), journal, terms())
    gather([read_task("two", "a", "b")], DrawnTree(files={"a": 5, "b": b"b"}), journal, terms())
    assert contents(journal) == {"a": b"a", "b": b"b"}


def test_large_answers_come_through() -> None:
    tree = DrawnTree(files={"large": os.urandom(1 << 20), "text": b"line\n" * 200_000})
    journal: Journal = {}
    gather([read_task("one", "large", "text")], tree, journal, terms(budget=lambda _: 5))
    assert contents(journal) == tree.files


def test_keys_do_not_cross_the_pipe(pretend: Callable[..., None]) -> None:
    heard = bytearray()

    def listen(descriptor: int, size: int) -> bytes:
        piece = os.read(descriptor, size)
        heard.extend(piece)
        return piece

    pretend(crew, "os", read=listen)
    path = "sys/firmware/acpi/tables/MSDM"
    tree = DrawnTree(files={path: build_msdm(MsdmPlan()), "odd": MsdmPlan().key})
    journal: Journal = {}
    gather([read_task("licence", path, "odd")], tree, journal, terms())
    assert b"licence-table" in heard
    assert b"BCDFG" not in heard
    assert b"licence-table" in RecordedTree(journal).read(path)


def test_progress_is_told_for_every_task() -> None:
    told: list[tuple[int, int, str]] = []

    def progress(done: int, total: int, name: str) -> None:
        told.append((done, total, name))

    unit = Unit(tree=DrawnTree(files=files("a", "hang")), events={"hang": hang})
    tasks = [read_task("quick", "a"), read_task("stuck", "hang")]
    gather(tasks, unit, {}, terms(strikes=1, progress=progress))
    assert [told_of[:2] for told_of in told] == [(1, 2), (2, 2)]
    assert {name for _, _, name in told} == {"quick", "stuck"}


def test_an_interrupt_kills_the_children_and_goes_on_up() -> None:
    pids: list[int] = []

    def remember(pid: int) -> None:
        pids.append(pid)
        kill_now(pid)

    def interrupt(*_: object) -> None:
        raise KeyboardInterrupt

    unit = Unit(tree=DrawnTree(files=files("a", "hang")), events={"hang": hang})
    tasks = [read_task("stuck", "hang"), read_task("quick", "a")]
    with pytest.raises(KeyboardInterrupt):
        gather(tasks, unit, {}, terms(progress=interrupt, kill=remember))
    for pid in pids:
        wait_for_death(pid)
    assert pids


def wait_for_death(pid: int) -> None:
    for _ in range(200):
        try:
            if os.waitpid(pid, os.WNOHANG) != (0, 0):
                return
        except ChildProcessError:
            return
        time.sleep(0.01)
    raise AssertionError(f"child {pid} is alive")


def test_nonsense_from_a_child_is_a_death(pretend: Callable[..., None]) -> None:
    def garble(descriptor: int, size: int) -> bytes:
        return os.read(descriptor, size).replace(b"=", b"=\xff")

    pretend(crew, "os", read=garble)
    journal: Journal = {}
    assert gather([read_task("one", "a")], DrawnTree(files=files("a")), journal, terms()) == ()
    assert code_of(journal, "a") == "DIED"


def test_beside_a_thread_no_child_is_started(pretend: Callable[..., None]) -> None:
    pretend(crew, "threading", active_count=lambda: 2)
    with pytest.raises(RuntimeError, match="before any thread"):
        gather([], DrawnTree(), {}, terms())


def test_where_no_process_can_be_had_the_tasks_are_given_up(pretend: Callable[..., None]) -> None:
    def refuse() -> int:
        raise BlockingIOError(errno.EAGAIN, "no more processes")

    pretend(crew_child, "os", fork=refuse)
    # Whoever waited would wait for nobody, until the time is over.
    pretend(crew, "selectors", DefaultSelector=lambda: Mock(select=Mock(side_effect=[])))
    journal: Journal = {}
    tree = DrawnTree(files=files("a"))
    assert gather([read_task("one", "a")], tree, journal, terms()) == ("one",)
    assert code_of(journal, "a") == "DIED"
