"""Everything that was asked in one run, and what it was answered: replayable and sorted."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypeAlias

from closeout.kernel.record import Journal, Record
from closeout.model.frozen import field, frozen
from closeout.model.moment import Moment, ReferenceTime

Json: TypeAlias = bool | int | float | str | list["Json"] | dict[str, "Json"] | None


class EvidenceError(Exception):
    """An evidence file that cannot be used: where, what is wrong there, and what to do."""

    def __init__(self, where: str, what: str, advice: str) -> None:
        super().__init__(f"{where}: {what}; {advice}")
        self.where = where
        self.what = what
        self.advice = advice


@frozen
class Header:
    """What holds for the whole run.

    `source` is `live` or `folder`; `kernel` the text of the kernel's release; `unfinished` names
    the tasks that were given up. `references` are what the unit's clock is held against, the one
    to trust most first: typed today, of a network or of the medium one day. `more` is what later
    versions add: kept, and ignored.
    """

    agent: str
    source: str
    kernel: str
    started: Moment
    finished: Moment
    unfinished: tuple[str, ...] = ()
    references: tuple[ReferenceTime, ...] = ()
    more: Mapping[str, Json] = field(default_factory=dict[str, Json])


@frozen
class Evidence:
    """The header, and one record for each question, sorted by the question."""

    header: Header
    records: tuple[Record, ...]


def seal_journal(header: Header, journal: Journal) -> Evidence:
    """The evidence that a journal amounts to."""
    return Evidence(header=header, records=tuple(journal[key] for key in sorted(journal)))
