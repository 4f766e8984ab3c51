"""What to do first, and why the verdict is what it is: out of the findings alone."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Final

from closeout.judge.coverage import STORAGE_MODE_RULE
from closeout.judge.gaps import STORAGE_MODE
from closeout.judge.judged import NOTHING_THERE
from closeout.judge.wording import ABSENT
from closeout.model.catalogue import Catalogue
from closeout.model.expectation import CONNECTION, PRESENCE, Weight
from closeout.model.finding import Concession, Finding, Outcome
from closeout.model.inventory import KINDS
from closeout.model.label_agreement import LABEL_RULE
from closeout.model.naming import name_finding
from closeout.model.report import Step
from closeout.model.verdict import Verdict, is_open, is_refused

MOST_STEPS: Final = 3
MOST_NAMES: Final = 4
"""Of the findings that one step answers."""
HERE: Final = " Here: "
"""What stands in an action before the connection that the profile names."""
_KINDS: Final = tuple(KINDS)


def first_steps(findings: Sequence[Finding], catalogue: Catalogue) -> tuple[Step, ...]:
    """At most three things to do, those that hold the unit first; the same action only once."""
    by_action: dict[tuple[str, str], list[Finding]] = {}
    pressing = _pressing(findings)
    questions = [finding for finding in pressing if _is_question(finding)]
    for finding in pressing:
        if _is_question(finding):
            by_action.setdefault((_ask_all(len(questions)), ""), []).append(finding)
            continue
        by_action.setdefault(_action_of(finding, catalogue), []).append(finding)
    steps = [
        Step(
            title=_title(answered, catalogue),
            action=action,
            rules=tuple(dict.fromkeys(finding.rule for finding in answered)),
            caution=caution,
        )
        for (action, caution), answered in by_action.items()
    ]
    return tuple(steps[:MOST_STEPS])


def _title(answered: Sequence[Finding], catalogue: Catalogue) -> str:
    names = list(dict.fromkeys(_name(finding, catalogue) for finding in answered))
    if len(names) > MOST_NAMES:
        return f"{', '.join(names[:MOST_NAMES])} and {len(names) - MOST_NAMES} more"
    return ", ".join(names)


def _is_question(finding: Finding) -> bool:
    """What a repair disturbed, and nobody has looked at yet."""
    return finding.kind == CONNECTION and is_open(finding)


def _ask_all(count: int) -> str:
    it = "the question" if count == 1 else f"the {count} questions"
    return f"Look, and answer {it}: at the console, or later with `closeout answer`."


def explain(verdict: Verdict, findings: Sequence[Finding], catalogue: Catalogue) -> tuple[str, ...]:
    """One sentence for each finding that decided, concessions always in full."""
    demands = [finding for finding in findings if finding.weight is Weight.MUST]
    begin = "release with concession" if verdict is Verdict.RELEASE else "conceded"
    conceded = [
        f"{begin}: {_concede(finding, finding.concession, catalogue)}"
        for finding in demands
        if finding.concession
    ]
    if not demands:
        return ("nothing was demanded, so nothing can be released",)
    if verdict is Verdict.RELEASE:
        return (*conceded, _sum_up(demands))
    decides = is_refused if verdict is Verdict.HOLD else is_open
    deciding = [finding for finding in _pressing(demands) if decides(finding)]
    asked = [finding for finding in deciding if _is_question(finding)]
    told = [_sentence(finding, catalogue) for finding in deciding if finding not in asked]
    return (*told, *_sum_up_questions(asked, catalogue), *conceded)


def _sum_up_questions(asked: Sequence[Finding], catalogue: Catalogue) -> Iterator[str]:
    if asked:
        names = ", ".join(_name(finding, catalogue) for finding in asked)
        yield f"nobody has looked yet, and the repair disturbed it: {names}"


def _sum_up(demands: Sequence[Finding]) -> str:
    """How many were met, answered and conceded: a person's yes is no reading."""
    conceded = sum(finding.concession is not None for finding in demands)
    met = sum(finding.outcome is Outcome.PASS for finding in demands)
    answered = len(demands) - met - conceded
    if not answered and not conceded:
        return f"all {met} demands are met" if met > 1 else "the demand is met"
    parts = [f"{met} of {len(demands)} demands are met"]
    if answered:
        parts.append(f"{answered} answered yes by a person")
    if conceded:
        parts.append(f"{conceded} conceded")
    return ", ".join(parts)


def _pressing(findings: Iterable[Finding]) -> list[Finding]:
    """Findings with something to do: refused musts, open musts, then failed shoulds.

    Among equals a part that is missing comes first: it may explain what else is amiss. Before all
    comes a label that is not the order's: everything else may be about another unit.
    """
    ranked = [(rank, finding) for finding in findings if (rank := _rank(finding)) is not None]
    return [finding for _, finding in sorted(ranked, key=lambda pair: pair[0])]


def _rank(finding: Finding) -> tuple[int, bool, int] | None:
    kind, _, attribute = finding.rule.partition(".")
    if finding.rule == LABEL_RULE and is_refused(finding):
        return (0, False, -1)
    place = (attribute != PRESENCE, _KINDS.index(kind) if kind in KINDS else len(_KINDS))
    if finding.weight is Weight.MUST:
        if is_refused(finding):
            return (0, *place)
        return (1, *place) if is_open(finding) else None
    refused = finding.weight is Weight.SHOULD and is_refused(finding)
    return (2, *place) if refused else None


def _action_of(finding: Finding, catalogue: Catalogue) -> tuple[str, str]:
    """What to do and what can hurt; what was not read wants another look, not a screwdriver."""
    entry, mode = catalogue.entries[finding.rule], catalogue.entries.get(STORAGE_MODE_RULE)
    if is_refused(finding):
        where = f"{HERE}{finding.connection}." if finding.connection else ""
        return f"{entry.advice}{where}", entry.caution
    match finding.outcome:
        case Outcome.UNREAD:
            return _action_of_unread(finding, catalogue)
        case Outcome.UNCOVERED if STORAGE_MODE in finding.found and mode:
            return mode.advice, mode.caution
        case Outcome.UNCOVERED:
            told = f"This system cannot drive it ({finding.found}). {entry.question}"
            return told.strip(), entry.caution
        case _:
            return entry.question or entry.advice, entry.caution


def _action_of_unread(finding: Finding, catalogue: Catalogue) -> tuple[str, str]:
    """A part that may be missing, a question where a look would tell no more, or that look."""
    entry = catalogue.entries[finding.rule]
    presence = catalogue.entries.get(f"{finding.kind}.{PRESENCE}")
    if finding.found == NOTHING_THERE and presence:
        return f"None is seen. If there should be one: {presence.advice}", presence.caution
    if finding.found.startswith(ABSENT) and entry.question:
        return f"The machine does not tell it. {entry.question}", entry.caution
    return f"{finding.found[:1].upper()}{finding.found[1:]}", ""


def _name(finding: Finding, catalogue: Catalogue) -> str:
    return name_finding(finding, catalogue.entries[finding.rule])


def _sentence(finding: Finding, catalogue: Catalogue) -> str:
    answered = f"; answered {finding.answer.reply.value}" if finding.answer else ""
    told = f"expected {finding.expected}, found {finding.found}{answered}"
    return f"{_name(finding, catalogue)}: {told}"


def _concede(finding: Finding, concession: Concession, catalogue: Catalogue) -> str:
    sentence = _sentence(finding, catalogue)
    return f"{sentence}; conceded by {concession.by}: {concession.reason}"
