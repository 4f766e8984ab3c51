"""What becomes of a unit's findings when each reading in turn fails."""

import errno
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from closeout.kernel.record import Failure, Question
from closeout.model.finding import Finding, Outcome
from failures.rejudged_unit import RejudgedUnit
from failures.ways_to_fail import WayToFail

NOT_THERE: Final = Failure(number=errno.ENOENT)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pass:
    """A finding that passes although a reading failed."""

    rule: str
    subject: str
    found: str
    failed: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """`readings` were failed; a fault is an exception of a reader, which must not happen.

    `unsupported` passes have no other reading to rest on; of `turned` ones there are more than
    before.
    """

    readings: int
    faults: tuple[str, ...]
    unsupported: tuple[Pass, ...]
    turned: tuple[Pass, ...]


def fail_every_reading(unit: RejudgedUnit, way: WayToFail, unrecorded: Failure) -> Tried:
    """Each recorded reading of the unit that a reader asked for, failed in one way."""
    before = Counter(key_of(finding) for finding in _passes(unit.findings))
    faults: list[str] = []
    unsupported: list[Pass] = []
    turned: list[Pass] = []
    readings = 0
    for question, record in unit.records.items():
        answer = way.replace(record)
        if answer is None or question not in unit.askers:
            continue
        readings += 1
        try:
            findings = unit.with_answer(question, answer, unrecorded)
        except Exception as fault:  # noqa: BLE001 - whatever it is, it is the finding here
            faults.append(f"{question.text}: {type(fault).__name__}: {fault}")
            continue
        passes = tuple(_passes(findings))
        unsupported += [shown(one, question) for one in passes if not _rests(one, unit, question)]
        more = Counter(key_of(finding) for finding in passes) - before
        turned += [shown(one, question) for one in passes if key_of(one) in more]
    return Tried(
        readings=readings,
        faults=tuple(faults),
        unsupported=tuple(unsupported),
        turned=tuple(turned),
    )


def key_of(finding: Finding) -> tuple[str, str]:
    """What is demanded. The subject is not part of it: a link that fails gives another place."""
    return finding.rule, finding.expected


def shown(finding: Finding, failed: Question) -> Pass:
    """A pass with the reading that had failed."""
    return Pass(
        rule=finding.rule,
        subject=finding.subject,
        found=finding.found[:60],
        failed=f"{failed.kind} {failed.text}",
    )


def _passes(findings: Iterable[Finding]) -> Iterator[Finding]:
    return (finding for finding in findings if finding.outcome is Outcome.PASS)


def _rests(finding: Finding, unit: RejudgedUnit, failed: Question) -> bool:
    """Whether another reading, one that was answered, stands behind the finding."""
    return any(
        question.text != failed.text and not isinstance(unit.records[question].answer, Failure)
        for source in finding.evidence
        for question in unit.questions_of(source)
    )
