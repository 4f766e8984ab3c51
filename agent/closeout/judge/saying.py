"""What people say of a finding afterwards: reports in, reports out, the verdict decided anew."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

from closeout.judge.steps import explain, first_steps
from closeout.model.catalogue import Catalogue, Entry
from closeout.model.expectation import Weight
from closeout.model.finding import Answer, Concession, Finding, Outcome, Reply
from closeout.model.frozen import replace
from closeout.model.handling import Revision
from closeout.model.moment import Moment
from closeout.model.naming import name_finding
from closeout.model.report import Report
from closeout.model.verdict import UNPROVEN, decide, is_refused

NOTHING_TO_ANSWER: Final = "it is met, so there is nothing to answer"
IS_PROVEN: Final = (
    "it failed, and no answer changes what was read; repair it and check again, or have it conceded"
)
NOBODY_MAY: Final = "no person may answer it: only a reading proves this; check again"
NOTHING_TO_CONCEDE: Final = "only a must that failed or was answered no can be conceded"


class RefusedError(Exception):
    """Why this cannot be said of the finding, in one line."""


def say(report: Report, number: int, said: Answer | Concession) -> Report:
    """The report with this said of its finding `number`, which counts from 1.

    Verdict, reasons and first steps are decided anew with the words that the report has; nothing
    else changes. A yes withdraws the concession of the no before it.

    Raises:
        RefusedError: the finding takes no such saying.
    """
    finding = report.findings[number - 1]
    if refusal := refuse(finding, said):
        raise RefusedError(f"{name_place(report, number)}: {refusal}")
    changed = _with_saying(finding, said)
    return decide_anew(report, (*report.findings[: number - 1], changed, *report.findings[number:]))


def revise(
    report: Report, number: int, said: Answer | Concession, at: Moment, digest: str
) -> Report:
    """The next revision: this said at that time; `digest` is of the bytes of the report before.

    Raises:
        RefusedError: the finding takes no such saying.
    """
    dated = replace(said, at=at, attempt=report.circumstances.attempt)
    revision = Revision(
        number=report.revision + 1,
        change=describe_change(report, number, dated),
        by=said.by,
        at=at,
        digest=digest,
    )
    return replace(say(report, number, dated), revisions=(*report.revisions, revision))


def decide_anew(report: Report, findings: tuple[Finding, ...]) -> Report:
    """The report with these findings, and what follows from them."""
    changed = replace(report, findings=findings, verdict=decide(findings))
    rules = report.circumstances.rules
    catalogue = Catalogue(version=rules.revision, entries=words_of(changed))
    return replace(
        changed,
        reasons=explain(changed.verdict, findings, catalogue),
        first_steps=first_steps(findings, catalogue),
    )


def words_of(report: Report) -> Mapping[str, Entry]:
    """The report's words for each rule of its findings; the bare rule where it has none."""
    return {
        finding.rule: report.words.get(finding.rule) or _bare(finding)
        for finding in report.findings
    }


def refuse(finding: Finding, said: Answer | Concession) -> str:
    """Why the finding takes no such saying; empty where it does."""
    if isinstance(said, Concession):
        failed = is_refused(replace(finding, concession=None))
        return "" if failed and finding.weight is Weight.MUST else NOTHING_TO_CONCEDE
    if finding.outcome is Outcome.PASS:
        return NOTHING_TO_ANSWER
    if finding.outcome not in UNPROVEN:
        return IS_PROVEN
    return "" if finding.answerable else NOBODY_MAY


def name_place(report: Report, number: int) -> str:
    """`finding 3, Panel`."""
    finding = report.findings[number - 1]
    return f"finding {number}, {name_finding(finding, words_of(report)[finding.rule])}"


def describe_change(report: Report, number: int, said: Answer | Concession) -> str:
    """What the saying changes, in a sentence, with what it stands in place of."""
    finding = report.findings[number - 1]
    parts = [f"{name_place(report, number)}: {_verb(said)}", *_replaced(finding, said)]
    return "; ".join(parts)


def _replaced(finding: Finding, said: Answer | Concession) -> Iterator[str]:
    if isinstance(said, Answer) and finding.answer:
        before = finding.answer
        yield f"in place of the {before.reply.value} of {before.by}: {before.reason}"
    if finding.concession and finding.concession != _with_saying(finding, said).concession:
        conceded = finding.concession
        word = "in place of" if isinstance(said, Concession) else "which withdraws"
        yield f"{word} the concession of {conceded.by}: {conceded.reason}"


def _verb(said: Answer | Concession) -> str:
    return "conceded" if isinstance(said, Concession) else f"answered {said.reply.value}"


def _with_saying(finding: Finding, said: Answer | Concession) -> Finding:
    if isinstance(said, Concession):
        return replace(finding, concession=said)
    kept = None if said.reply is Reply.YES else finding.concession
    return replace(finding, answer=said, concession=kept)


def _bare(finding: Finding) -> Entry:
    return Entry(
        title=finding.rule,
        meaning="",
        impact="",
        advice="See the finding.",
        caution="",
        question="",
        answerable=finding.answerable,
    )
