"""Everything of one run: what was read, demanded and found, and under which circumstances."""

from __future__ import annotations

from collections.abc import Mapping

from closeout.model.catalogue import Entry
from closeout.model.finding import Finding
from closeout.model.frozen import frozen
from closeout.model.handling import (
    EarlierAttempt,
    HandBack,
    Handling,
    OrderFacts,
    Revision,
    VoidProof,
)
from closeout.model.inventory import Inventory
from closeout.model.moment import Moment
from closeout.model.profile_signature import ProfileSignature
from closeout.model.verdict import Verdict


@frozen
class SourceFile:
    """A file that shaped the verdict: profile, work order or catalogue."""

    name: str
    revision: str
    digest: str


@frozen
class Circumstances:
    """Who judged what with what; nothing here changes an outcome.

    `profile_set` are all profiles that ship or that the depot keeps, taken together;
    `profile_signature` says whether the lead signed the one in force; `reopened` are the repairs
    done again since the attempt before. A draft is not counted as an attempt.
    """

    agent: str
    rules: SourceFile
    profile: SourceFile
    work_order: SourceFile | None
    order: str
    repairs: tuple[str, ...]
    attempt: int
    medium: str
    kernel: str
    evidence_digest: str
    readings: int
    started: Moment
    finished: Moment
    profile_set: SourceFile | None = None
    profile_signature: ProfileSignature = ProfileSignature()
    repair_map: SourceFile | None = None
    handling: Handling = Handling()
    order_facts: OrderFacts = OrderFacts()
    reopened: tuple[str, ...] = ()
    is_draft: bool = False


@frozen
class Step:
    """One thing to do, what can hurt while it is done, and the rules of the findings it answers."""

    title: str
    action: str
    rules: tuple[str, ...]
    caution: str = ""


@frozen
class Unanswered:
    """A question that the machine did not answer, and the errno name or our word for why."""

    question: str
    error: str


@frozen
class Report:
    """One run, complete.

    `earlier` are the attempts before this one, the first first; `revisions` what was said of this
    attempt afterwards, each a report of its own beside the one before. `void` is what was said of
    the attempt before and does not hold any more. `hand_back` is what is
    still to be done before the customer gets the unit; None where the repair asks for no list.
    `words` holds the catalogue entry of every rule that appears: an old report keeps its words.
    `unanswered` are all questions without an answer, also those that another file answered.
    """

    verdict: Verdict
    reasons: tuple[str, ...]
    first_steps: tuple[Step, ...]
    circumstances: Circumstances
    inventory: Inventory
    findings: tuple[Finding, ...]
    words: Mapping[str, Entry]
    reader_microseconds: Mapping[str, int]
    redacted: bool
    unanswered: tuple[Unanswered, ...] = ()
    hand_back: HandBack | None = None
    earlier: tuple[EarlierAttempt, ...] = ()
    revisions: tuple[Revision, ...] = ()
    void: tuple[VoidProof, ...] = ()

    @property
    def revision(self) -> int:
        """1 for the report as the check wrote it, one more for each time somebody said more."""
        return len(self.revisions) + 1

    @property
    def written(self) -> Moment:
        """When this revision was written, by the clock of whoever did; a seal is of that day."""
        return self.revisions[-1].at if self.revisions else self.circumstances.finished
