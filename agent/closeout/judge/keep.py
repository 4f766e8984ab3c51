"""Rework: what people said of the attempt before, kept with its age or void, and why."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Final, TypeAlias

from closeout.model.finding import Answer, Concession, Finding, Outcome
from closeout.model.frozen import frozen, replace
from closeout.model.handling import VoidProof
from closeout.model.moment import Moment

Disturbs: TypeAlias = Callable[[str], bool]
"""Whether what was reopened may have changed what a rule is about."""

Key: TypeAlias = tuple[str, str, str, str, Outcome, int]

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
    kept = dict(zip(_keys(findings), findings, strict=True))
    void: list[VoidProof] = []
    for key, old in zip(_keys(before.findings), before.findings, strict=True):
        if not old.answer and not old.concession:
            continue
        if why := _why_void(old, kept.get(key), findings, before.disturbs):
            void += _void(old, why)
        else:
            kept[key] = _with_sayings(kept[key], old, before)
    return Kept(findings=tuple(kept.values()), void=tuple(void))


def _keys(findings: Iterable[Finding]) -> Iterator[Key]:
    """What makes a finding the same in another attempt; of several alike, which of them."""
    alike: Counter[tuple[object, ...]] = Counter()
    for one in findings:
        key = (one.rule, one.subject, one.expected, one.found, one.outcome)
        alike[key] += 1
        yield (*key, alike[key])


def _why_void(
    old: Finding, same: Finding | None, findings: Iterable[Finding], disturbs: Disturbs
) -> str:
    """Empty where what was said of the finding still holds for the same one of now."""
    if disturbs(old.rule):
        return REOPENED
    if same is None:
        of_rule = (new for new in findings if (new.rule, new.subject) == (old.rule, old.subject))
        return _what_changed(old, list(of_rule))
    return NO_PERSON if old.answer and not same.answerable else ""


def _what_changed(old: Finding, about: Sequence[Finding]) -> str:
    if not about:
        return NOT_DEMANDED
    demanded = [new for new in about if new.expected == old.expected]
    if not demanded:
        return f"now {about[0].expected} is expected, not {old.expected}"
    if any(new.outcome is Outcome.PASS for new in demanded):
        return MET_NOW
    then, now = (f"{one.outcome.value}, {one.found}" for one in (old, demanded[0]))
    return f"now found: {now}; then: {then}"


def _void(old: Finding, why: str) -> Iterator[VoidProof]:
    for said in (old.answer, old.concession):
        if said:
            yield VoidProof(rule=old.rule, subject=old.subject, said=_describe(said), why=why)


def _describe(said: Answer | Concession) -> str:
    verb = f"answered {said.reply.value}" if isinstance(said, Answer) else "conceded"
    return f"{verb} by {said.by}: {said.reason}"


def _with_sayings(new: Finding, old: Finding, before: Proofs) -> Finding:
    answer = replace(old.answer, **_age(old.answer, before)) if old.answer else None
    conceded = old.concession
    concession = replace(conceded, **_age(conceded, before)) if conceded else None
    return replace(new, answer=answer, concession=concession)


def _age(said: Answer | Concession, before: Proofs) -> dict[str, Moment | int]:
    return {"at": said.at or before.at, "attempt": said.attempt or before.attempt}
