"""The live machine asked by children, so that no device can hold up the run.

A read can sleep in the kernel where no signal reaches it: a thread would keep the whole process
from ending, and a child cannot even be killed. So the parent never reads and never waits for a
child. It shares the tasks out among children, hears of each question before it is put, and
when the question's time is over writes down that there was no answer in time, kills the child,
forgets it, and gives the task, and what was left of the share, to a new child that knows what is
answered so far. A child that cannot die stays behind alone; it holds no pipe, terminal or file of
ours. A share is as small as the number of children allows: a new process for every task would
cost more than all reading (measured on a slow machine: half of the run).

What the readers make of the answers is made afterwards, over the journal, by the same code that
replays evidence: a live run and its replay cannot differ.
"""

from __future__ import annotations

import errno
import os
import selectors
import threading
from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from typing import Final

from closeout.kernel.crew_child import ANSWERED, ASKED, Wire, start_child
from closeout.kernel.crew_terms import CrewTerms
from closeout.kernel.failure import Reason
from closeout.kernel.privacy import forbid_core_dumps
from closeout.kernel.record import Failure, Journal, Question, Record
from closeout.kernel.record_line import LineError, decode_question, decode_record
from closeout.kernel.recorder import Recorder
from closeout.kernel.replies import RepliesBy
from closeout.kernel.task import Task, run_task
from closeout.kernel.tree import KernelTree

NO_ANSWER_IN_TIME: Final = Failure(number=errno.ETIMEDOUT, reason=Reason.DEADLINE)
CHILD_DIED: Final = Failure(number=errno.EIO, reason=Reason.DIED)
CHUNK: Final = 65_536
NANOSECONDS: Final = 1_000_000_000
"""In a second."""
MICROSECOND: Final = 1_000
"""In nanoseconds."""


class _Child:
    """A child with the tasks that it still has to do, each with the children it has cost."""

    def __init__(self, share: Sequence[tuple[Task, int]], *, pid: int, pipe: int) -> None:
        self.share = deque(share)
        self.pid = pid
        self.pipe = pipe
        self.heard = bytearray()
        self.asked = ""
        self.pending: Question | None = None
        self.asked_at = 0
        self.seconds = 0.0
        self.expires = 0
        self.misled = False
        self.gone = False


def gather(
    tasks: Sequence[Task], source: KernelTree, journal: Journal, terms: CrewTerms
) -> tuple[str, ...]:
    """Fill the journal with what the tasks ask; the names of those that were given up.

    The first answer to a question stays. What a task that was given up would still have asked
    gets the failure that ended it, so that a replay never meets a question without an answer.

    Raises:
        RuntimeError: a thread runs, and a fork beside it could not be trusted.
    """
    if threading.active_count() > 1:
        raise RuntimeError("children can only be started before any thread")
    forbid_core_dumps()
    crew = _Crew(tasks, source, journal, terms)
    try:
        crew.work()
    finally:
        crew.dismiss()
    for task, failure in crew.given_up:
        run_task(task, Recorder(_refusal(failure), terms.clock, journal=journal))
    return tuple(dict.fromkeys(task.name for task, _ in crew.given_up))


def _dealt(tasks: Sequence[Task], children: int) -> Iterator[Task]:
    """As cards are dealt: devices of one class, which are slow alike, go to different children."""
    for first in range(min(children, len(tasks))):
        yield from tasks[first::children]


def _refusal(failure: Failure) -> KernelTree:
    return RepliesBy(lambda _: failure)


class _Crew:
    def __init__(
        self, tasks: Sequence[Task], source: KernelTree, journal: Journal, terms: CrewTerms
    ) -> None:
        self._waiting = deque((task, 0) for task in _dealt(tasks, terms.children))
        self._total = len(tasks)
        self._share = max(1, -(-len(tasks) // terms.children))
        self._done = 0
        self._source = source
        self._journal = journal
        self._terms = terms
        self._selector = selectors.DefaultSelector()
        self._working: dict[int, _Child] = {}
        self._leaving: set[int] = set()
        self.given_up: list[tuple[Task, Failure]] = []

    def work(self) -> None:
        """Until every task is through or given up, or the time is over."""
        while self._waiting or self._working:
            if self._terms.clock() >= self._terms.until:
                self._end_of_time()
                return
            while self._waiting and len(self._working) < self._terms.children:
                self._start(self._next_share())
            if self._working:
                self._listen()
            self._watch_deadlines()
            self._reap()

    def dismiss(self) -> None:
        """Kill who still works; wait for nobody."""
        for child in list(self._working.values()):
            self._kill(child)
        self._selector.close()
        self._reap()

    def _next_share(self) -> tuple[tuple[Task, int], ...]:
        """A task that has cost a child already comes alone: who waits behind it loses nothing."""
        first = self._waiting.popleft()
        share = [first]
        while len(share) < self._share and self._waiting and not first[1]:
            share.append(self._waiting.popleft())
        return tuple(share)

    def _start(self, share: Sequence[tuple[Task, int]]) -> None:
        try:
            pid, pipe = start_child(lambda wire: self._put_questions(share, wire))
        except OSError as refusal:
            number = refusal.errno or CHILD_DIED.number
            self._waiting.extendleft(reversed(share[1:]))
            self._retry(*share[0], Failure(number=number, reason=Reason.DIED))
            return
        self._working[pipe] = _Child(share, pid=pid, pipe=pipe)
        self._selector.register(pipe, selectors.EVENT_READ)

    def _put_questions(self, share: Iterable[tuple[Task, int]], wire: Wire) -> None:
        """In the child, whose journal is its own copy of what is answered so far."""
        recorder = Recorder(
            self._source,
            self._terms.clock,
            secret=self._terms.secret,
            journal=self._journal,
            watcher=wire,
        )
        for task, _ in share:
            run_task(task, recorder)
            wire.through()

    def _listen(self) -> None:
        expiries = [child.expires for child in self._working.values() if child.pending]
        wait = min([self._terms.until, *expiries]) - self._terms.clock()
        for key, _ in self._selector.select(max(0, wait) / NANOSECONDS):
            self._hear(self._working[key.fd])

    def _hear(self, child: _Child) -> None:
        piece = os.read(child.pipe, CHUNK)
        child.heard += piece
        *lines, child.heard = child.heard.split(b"\n")
        try:
            for line in lines:
                self._take(child, line.decode("latin-1"))
                if child.gone:
                    return
            self._settle(child)
        except LineError:
            piece = b""
            with suppress(LineError):  # the question that it died at is written down
                self._settle(child)
        if not piece:
            self._kill(child)
            self._lose(child, CHILD_DIED)

    def _take(self, child: _Child, line: str) -> None:
        tag, text = line[:1], line[1:]
        if tag == ASKED:
            child.asked = text
            child.asked_at = self._terms.clock()
        elif tag == ANSWERED:
            record = decode_record(text)
            child.asked, child.pending = "", None
            first = self._journal.setdefault(record.question, record)
            child.misled = child.misled or first.answer != record.answer
        else:
            self._tick_off(child)

    def _settle(self, child: _Child) -> None:
        """What it waits for now: of all that came at once only the last question is still open.

        Who is sending is not stuck, however long the answer takes to come through.
        """
        if child.asked:
            child.pending = decode_question(child.asked)
            child.asked = ""
            child.seconds = self._terms.budget(child.pending)
        self._extend(child)

    def _tick_off(self, child: _Child) -> None:
        """The child is through with a task, and ends by itself after the last.

        Where another child had the first word on a question, and a different one, this child
        may have gone on to questions that a replay does not ask: then the task is put again, and
        so is the rest, which this child would do no better.
        """
        if child.misled:
            self._kill(child)
            self._lose(child, NO_ANSWER_IN_TIME)
            return
        task, _ = child.share.popleft()
        self._tell_done(task)
        if not child.share:
            self._let_go(child)

    def _extend(self, child: _Child) -> None:
        if child.pending:
            child.expires = self._terms.clock() + int(child.seconds * NANOSECONDS)

    def _watch_deadlines(self) -> None:
        now = self._terms.clock()
        for child in list(self._working.values()):
            if child.pending is None:
                continue
            if self._is_known_to_hang(child.pending):
                self._kill(child)
                self._waiting.extendleft(reversed(child.share))
            elif child.expires <= now:
                self._kill(child)
                self._lose(child, NO_ANSWER_IN_TIME)

    def _is_known_to_hang(self, question: Question) -> bool:
        known = self._journal.get(question)
        return known is not None and known.answer == NO_ANSWER_IN_TIME

    def _lose(self, child: _Child, failure: Failure) -> None:
        """What the child was at counts as one more that it cost; the rest only waits again."""
        self._write_down(child, failure)
        (task, strikes), *rest = child.share
        self._waiting.extendleft(reversed(rest))
        self._retry(task, strikes, failure)

    def _write_down(self, child: _Child, failure: Failure) -> None:
        if child.pending:
            waited = (self._terms.clock() - child.asked_at) // MICROSECOND
            record = Record(question=child.pending, answer=failure, microseconds=max(0, waited))
            self._journal.setdefault(child.pending, record)

    def _retry(self, task: Task, strikes: int, failure: Failure) -> None:
        if strikes + 1 < self._terms.strikes:
            self._waiting.appendleft((task, strikes + 1))
        else:
            self._give_up(task, failure)

    def _give_up(self, task: Task, failure: Failure) -> None:
        self.given_up.append((task, failure))
        self._tell_done(task)

    def _tell_done(self, task: Task) -> None:
        self._done += 1
        self._terms.progress(self._done, self._total, task.name)

    def _end_of_time(self) -> None:
        for child in list(self._working.values()):
            self._write_down(child, NO_ANSWER_IN_TIME)
            self._kill(child)
            self._waiting.extend(child.share)
        for task, _ in self._waiting:
            self._give_up(task, NO_ANSWER_IN_TIME)

    def _kill(self, child: _Child) -> None:
        self._let_go(child)
        self._terms.kill(child.pid)

    def _let_go(self, child: _Child) -> None:
        child.gone = True
        del self._working[child.pipe]
        self._selector.unregister(child.pipe)
        os.close(child.pipe)
        self._leaving.add(child.pid)

    def _reap(self) -> None:
        for pid in list(self._leaving):
            with suppress(ChildProcessError):
                if os.waitpid(pid, os.WNOHANG) == (0, 0):
                    continue
            self._leaving.discard(pid)
