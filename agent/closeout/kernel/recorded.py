"""The machine as it answered once: evidence, replayed."""

from __future__ import annotations

import errno
from collections import defaultdict
from collections.abc import Mapping
from typing import Any, Final

from closeout.kernel.evidence import Evidence
from closeout.kernel.failure import Reason
from closeout.kernel.record import Answer, Failure, Question, Record
from closeout.kernel.replies import Replies

NOT_RECORDED: Final = Failure(number=errno.ENODATA, reason=Reason.NOT_RECORDED)
"""What a question gets that nobody asked while recording: neither absent nor empty."""


class RecordedTree(Replies):
    """Answers every question as it was answered, failures included.

    `microseconds` sums what the answers given so far took when they were recorded, each question
    once; `rewound` starts a new sum, so that the time of each reader can be told. `worked_out` is
    for readers, to keep what they have made of the answers.
    """

    def __init__(self, records: Mapping[Question, Record]) -> None:
        self._records = records
        self._given: set[Question] = set()
        self.microseconds = 0
        self.worked_out: defaultdict[object, dict[str, Any]] = defaultdict(dict)

    def rewound(self) -> RecordedTree:
        """The same records, with nothing asked yet."""
        return RecordedTree(self._records)

    def reply(  # type: ignore[explicit-override]  # typing has it from 3.12
        self, question: Question
    ) -> Answer:
        """What was answered."""
        record = self._records.get(question)
        if record is None:
            return NOT_RECORDED
        if question not in self._given:
            self._given.add(question)
            self.microseconds += record.microseconds
        return record.answer


def replay(evidence: Evidence) -> RecordedTree:
    """The tree that replays evidence."""
    return RecordedTree({record.question: record for record in evidence.records})
