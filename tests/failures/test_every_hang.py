"""Every reading of a whole unit hangs once: the run ends in time, and says which it was."""

import errno
import os
import posix
import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from types import SimpleNamespace

import pytest

from closeout.check import ROUNDS, read_out
from closeout.kernel import crew, crew_child
from closeout.kernel.capture import Conditions, record_live
from closeout.kernel.crew import gather
from closeout.kernel.crew_child import Wire
from closeout.kernel.crew_terms import CrewTerms
from closeout.kernel.deadlines import RUN_SECONDS, budget_seconds
from closeout.kernel.failure import Reason
from closeout.kernel.record import Answer, Failure, Journal, Question, Record
from closeout.kernel.recorded import NOT_RECORDED, RecordedTree
from closeout.kernel.replies import Replies, RepliesBy
from closeout.kernel.task import Task, run_task
from closeout.model.moment import Moment
from closeout.model.reading import Unreadable
from failures.rejudged_unit import ListeningTree, whole_units
from failures.virtual_time import NANOSECONDS, VirtualTime

pytestmark = [
    pytest.mark.unmeasured,
    pytest.mark.filterwarnings("ignore:.*fork:DeprecationWarning"),
]

SOON = 10.0
"""Seconds in which a killed child is gone."""
IN_TIME = Failure(number=errno.ETIMEDOUT, reason=Reason.DEADLINE)
RECORDS = next(iter(whole_units())).records


@pytest.fixture
def virtual(monkeypatch: pytest.MonkeyPatch) -> Iterator[VirtualTime]:
    """The crew in virtual time; threads of the test runner do nothing here.

    Each child leaves by the system call itself: there are too many to write down their coverage.
    Every one of them is gone afterwards.
    """
    virtual = VirtualTime()
    pids: list[int] = []

    def start(work: Callable[[Wire], None]) -> tuple[int, int]:
        pid, pipe = virtual.start(crew_child.start_child, work)
        pids.append(pid)
        return pid, pipe

    monkeypatch.setattr(crew, "start_child", start)
    monkeypatch.setattr(crew_child, "os", SimpleNamespace(**{**vars(os), "_exit": posix._exit}))
    monkeypatch.setattr(
        crew, "selectors", SimpleNamespace(DefaultSelector=virtual.selector(), EVENT_READ=1)
    )
    monkeypatch.setattr(crew, "threading", SimpleNamespace(active_count=lambda: 1))
    yield virtual
    assert pids
    assert [pid for pid in pids if not is_gone(pid)] == []


def is_gone(pid: int) -> bool:
    """Whether the child ended soon after it was killed."""
    until = time.monotonic() + SOON
    while time.monotonic() < until:
        try:
            if os.waitpid(pid, os.WNOHANG) != (0, 0):
                return True
        except ChildProcessError:
            return True
        time.sleep(0.01)
    return False


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit that answers as recorded, but that some of its readings hang."""

    records: Mapping[Question, Record]
    hanging: frozenset[Question] | None
    """None for all of them, also for what was never recorded."""
    virtual: VirtualTime

    def tree(self) -> Replies:
        """The source that the children ask."""
        return RepliesBy(self._reply)

    def _reply(self, question: Question) -> Answer:
        if self.hanging is None or question in self.hanging:
            self.virtual.hang()
        record = self.records.get(question)
        return NOT_RECORDED if record is None else record.answer


def terms_in(virtual: VirtualTime) -> CrewTerms:
    """As in a live run."""
    return CrewTerms(
        clock=virtual.clock,
        until=virtual.now + int(RUN_SECONDS * NANOSECONDS),
        kill=virtual.kill,
    )


def tasks_by_question() -> Mapping[Question, list[Task]]:
    """Which pieces of a run put a question."""
    by_question: dict[Question, list[Task]] = {}
    for next_tasks in ROUNDS:
        for task in next_tasks(RecordedTree(RECORDS)):
            tree = ListeningTree(RECORDS, {})
            run_task(task, tree)
            for question in tree.asked:
                by_question.setdefault(question, []).append(task)
    return by_question


def test_each_reading_may_hang_for_ever(virtual: VirtualTime) -> None:
    """Its own time is lost and no more, however many tasks ask it; everything else is answered."""
    by_question = tasks_by_question()
    asked = [question for question in RECORDS if question in by_question]
    assert len(asked) > 250
    for question in asked:
        tasks = by_question[question]
        journal: Journal = {key: record for key, record in RECORDS.items() if key != question}
        unit = Unit(RECORDS, frozenset({question}), virtual)
        begun = virtual.now
        given_up = gather(tasks, unit.tree(), journal, terms_in(virtual))
        assert journal[question].answer == IN_TIME, question
        assert given_up == (), question
        waited = (virtual.now - begun) / NANOSECONDS
        assert waited <= budget_seconds(question) + 0.01, question


def test_when_every_reading_hangs_the_run_ends_all_the_same(virtual: VirtualTime) -> None:
    moment = Moment(text="2026-11-25T09:00:00Z", source="a test")
    conditions = Conditions(agent="closeout test", clock=virtual.clock, moment=lambda: moment)
    unit = Unit(RECORDS, None, virtual)
    evidence = record_live(ROUNDS, conditions, unit.tree())
    assert virtual.now <= (RUN_SECONDS + 1) * NANOSECONDS
    answers = {record.answer for record in evidence.records}
    assert answers == {IN_TIME}
    sections = read_out(evidence).inventory.sections
    assert all(isinstance(section.listing, Unreadable) for section in sections)
