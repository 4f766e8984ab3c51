"""Rework: what people said of the attempt before, kept with its age or void, and why."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Final, TypeAlias

from closeout.model.finding import Answer, Concession, Finding, Outcome
from closeout.model.frozen import frozen, replace
from closeout.model.handling import VoidProof
from closeout.model.moment import Moment

Disturbs: TypeAlias = Callable[[str], bool]
"""Whether what was reopened may have changed what a rule is about."""

REOPENED: Final = "what was reopened may have changed it; look again"
NOT_DEMANDED: Final = "it is not demanded any more"
MET_NOW: Final = "it is met now, so nothing has to be said of it"
NO_PERSON: Final = "no person may answer it any more"


@frozen
class Proofs:
    """What was said in an earlier attempt: its findings, its number, and when it ended."""

    findings: tuple[Finding, ...]
    attempt: int
    at: Moment
    disturbs: Disturbs


@frozen
class Kept:
    """The findings of now with what still holds of before, and what does not."""

    findings: tuple[Finding, ...]
    void: tuple[VoidProof, ...]


def keep_proofs(findings: Sequence[Finding], before: Proofs) -> Kept:
    """The findings with every answer and concession that holds: same demand, same found.

    What was said keeps its time and attempt; where it has none, it gets those of the attempt
    that it was said in.
    """
    said = [finding for finding in before.findings if finding.answer or finding.concession]
    reasons = {_key(old): _why_void(old, findings, before.disturbs) for old in said}
    holds = {_key(old): old for old in said if not reasons[_key(old)]}
    return Kept(
        findings=tuple(_with_sayings(new, holds.get(_key(new)), before) for new in findings),
        void=tuple(
            void for old in said if reasons[_key(old)] for void in _void(old, reasons[_key(old)])
        ),
    )


def _key(finding: Finding) -> tuple[str, str, str, str, Outcome]:
    return (finding.rule, finding.subject, finding.expected, finding.found, finding.outcome)


def _why_void(old: Finding, findings: Iterable[Finding], disturbs: Disturbs) -> str:
    """Empty where what was said of the finding still holds."""
    if disturbs(old.rule):
        return REOPENED
    about = [new for new in findings if (new.rule, new.subject) == (old.rule, old.subject)]
    same = [new for new in about if _key(new) == _key(old)]
    if any(new.answerable or not old.answer for new in same):
        return ""
    if same:
        return NO_PERSON
    return _what_changed(old, about)


def _what_changed(old: Finding, about: Sequence[Finding]) -> str:
    if not about:
        return NOT_DEMANDED
    demanded = [new for new in about if new.expected == old.expected]
    if not demanded:
        return f"now {about[0].expected} is expected, not {old.expected}"
    if any(new.outcome is Outcome.PASS for new in demanded):
        return MET_NOW
    return f"now found: {demanded[0].found}; then: {old.found}"


def _void(old: Finding, why: str) -> Iterator[VoidProof]:
    for said in (old.answer, old.concession):
        if said:
            yield VoidProof(rule=old.rule, subject=old.subject, said=_describe(said), why=why)


def _describe(said: Answer | Concession) -> str:
    verb = f"answered {said.reply.value}" if isinstance(said, Answer) else "conceded"
    return f"{verb} by {said.by}: {said.reason}"


def _with_sayings(new: Finding, old: Finding | None, before: Proofs) -> Finding:
    if old is None:
        return new
    answer = replace(old.answer, **_age(old.answer, before)) if old.answer else None
    conceded = old.concession
    concession = replace(conceded, **_age(conceded, before)) if conceded else None
    return replace(new, answer=answer, concession=concession)


def _age(said: Answer | Concession, before: Proofs) -> dict[str, Moment | int]:
    return {"at": said.at or before.at, "attempt": said.attempt or before.attempt}
