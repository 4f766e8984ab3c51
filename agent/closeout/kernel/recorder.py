"""Any tree with every answer scrubbed, timed and kept: one question, one answer a run."""

from __future__ import annotations

from typing import Final, Protocol

from closeout.kernel.record import Answer, Clock, Journal, Question, Record, put
from closeout.kernel.replies import Replies
from closeout.kernel.secrecy import scrub_answer, scrub_question
from closeout.kernel.tree import KernelTree

NANOSECONDS: Final = 1000
"""In a microsecond."""


class Watcher(Protocol):
    """Who is told of a question before it is put, and of its record after."""

    def asked(self, question: Question) -> None:
        """The question is put to the source now."""
        ...

    def answered(self, record: Record) -> None:
        """The question has its record."""
        ...


class Recorder(Replies):
    """Asks a tree, and keeps what it answers in `journal`, failures and durations included.

    A question in the journal is answered from there and never put again. Nothing that is
    returned or kept holds a licence key.
    """

    def __init__(
        self,
        tree: KernelTree,
        clock: Clock,
        *,
        secret: bytes | None = None,
        journal: Journal | None = None,
        watcher: Watcher | None = None,
    ) -> None:
        self._tree = tree
        self._clock = clock
        self._secret = secret
        self._watcher = watcher
        self.journal: Journal = {} if journal is None else journal

    def reply(  # type: ignore[explicit-override]  # typing has it from 3.12
        self, question: Question
    ) -> Answer:
        """From the journal, where the question is in it."""
        kept = scrub_question(question)
        record = self.journal.get(kept)
        if record is None:
            record = self.journal[kept] = self._put(question, kept)
        return record.answer

    def _put(self, question: Question, kept: Question) -> Record:
        if self._watcher:
            self._watcher.asked(kept)
        start = self._clock()
        answer = scrub_answer(question, put(self._tree, question), self._secret)
        microseconds = max(0, self._clock() - start) // NANOSECONDS
        record = Record(question=kept, answer=answer, microseconds=microseconds)
        if self._watcher:
            self._watcher.answered(record)
        return record
