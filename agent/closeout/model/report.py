"""Everything of one run: what was read, demanded and found, and under which circumstances."""

from collections.abc import Mapping

from closeout.model.catalogue import Entry
from closeout.model.finding import Finding
from closeout.model.frozen import frozen
from closeout.model.inventory import Inventory
from closeout.model.verdict import Verdict


@frozen
class Moment:
    """A time in ISO 8601 UTC and where it comes from; the unit's own clock proves nothing."""

    text: str
    source: str


@frozen
class ReferenceTime:
    """What time it was by a named source other than the unit: the ruler for the unit's clock.

    `moment` was right when the running kernel's count since its start, which dates nothing, was
    at `taken_at_microseconds`.
    """

    moment: Moment
    taken_at_microseconds: int


@frozen
class SourceFile:
    """A file that shaped the verdict: profile, work order or catalogue."""

    name: str
    revision: str
    digest: str


@frozen
class Circumstances:
    """Who judged what with what; nothing here changes an outcome."""

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
