"""What to do first, and why the verdict is what it is: out of the findings alone."""

from collections.abc import Iterable, Sequence
from typing import Final

from closeout.model.catalogue import Catalogue, Entry
from closeout.model.expectation import PRESENCE, Weight
from closeout.model.finding import Finding, Outcome
from closeout.model.inventory import KINDS
from closeout.model.report import Step
from closeout.model.verdict import Verdict, is_open, is_refused

MOST_STEPS: Final = 3
_KINDS: Final = tuple(KINDS)


def first_steps(findings: Sequence[Finding], catalogue: Catalogue) -> tuple[Step, ...]:
    """At most three things to do, those that hold the unit first; the same action only once."""
    by_action: dict[str, list[tuple[str, str]]] = {}
    for finding in _pressing(findings):
        title, action = _step_of(finding, catalogue.entries[finding.rule])
        by_action.setdefault(action, []).append((title, finding.rule))
    steps = [
        Step(
            title=", ".join(dict.fromkeys(title for title, _ in parts)),
            action=action,
            rules=tuple(dict.fromkeys(rule for _, rule in parts)),
        )
        for action, parts in by_action.items()
    ]
    return tuple(steps[:MOST_STEPS])


def explain(verdict: Verdict, findings: Sequence[Finding], catalogue: Catalogue) -> tuple[str, ...]:
    """One sentence for each finding that decided, concessions always in full."""
    demands = [finding for finding in findings if finding.weight is Weight.MUST]
    conceded = [_concede(finding, catalogue) for finding in demands if finding.concession]
    match verdict:
        case Verdict.HOLD:
            deciding = [finding for finding in _pressing(demands) if is_refused(finding)]
        case Verdict.UNDECIDED:
            deciding = [finding for finding in _pressing(demands) if is_open(finding)]
        case Verdict.RELEASE:
            met = f"all {len(demands)} demands are met" if len(demands) > 1 else "the demand is met"
            return (*conceded, met) if not conceded else tuple(conceded)
    if not demands:
        return ("nothing was demanded, so nothing can be released",)
    return (*(_sentence(finding, catalogue) for finding in deciding), *conceded)


def _pressing(findings: Iterable[Finding]) -> list[Finding]:
    """Findings with something to do: refused musts, open musts, then failed shoulds.

    Among equals a part that is missing comes first: it may explain what else is amiss.
    """
    ranked = [(rank, finding) for finding in findings if (rank := _rank(finding)) is not None]
    return [finding for _, finding in sorted(ranked, key=lambda pair: pair[0])]


def _rank(finding: Finding) -> tuple[int, bool, int] | None:
    kind, _, attribute = finding.rule.partition(".")
    place = (attribute != PRESENCE, _KINDS.index(kind))
    if finding.weight is Weight.MUST:
        if is_refused(finding):
            return (0, *place)
        return (1, *place) if is_open(finding) else None
    refused = finding.weight is Weight.SHOULD and is_refused(finding)
    return (2, *place) if refused else None


def _step_of(finding: Finding, entry: Entry) -> tuple[str, str]:
    """Title and action; what was not read wants another look, not a screwdriver."""
    if is_refused(finding):
        where = f" Here: {finding.connection}." if finding.connection else ""
        return _name(finding, entry), f"{entry.advice}{where}"
    match finding.outcome:
        case Outcome.UNREAD:
            return _name(finding, entry), f"{finding.found[:1].upper()}{finding.found[1:]}"
        case Outcome.UNCOVERED:
            action = f"This system cannot drive it ({finding.found}). {entry.question}".strip()
            return _name(finding, entry), action
        case _:
            return _name(finding, entry), entry.question or entry.advice


def _sentence(finding: Finding, catalogue: Catalogue) -> str:
    name = _name(finding, catalogue.entries[finding.rule])
    answered = f"; answered {finding.answer.reply.value}" if finding.answer else ""
    return f"{name}: expected {finding.expected}, found {finding.found}{answered}"


def _name(finding: Finding, entry: Entry) -> str:
    """The matter by its title, with what people call the device where that says more."""
    kind, _, attribute = finding.rule.partition(".")
    if finding.label.replace(" ", "_") == kind:
        return entry.title
    if attribute == PRESENCE:
        return f"{finding.label[0].upper()}{finding.label[1:]}"
    return f"{entry.title} ({finding.label})"


def _concede(finding: Finding, catalogue: Catalogue) -> str:
    concession = finding.concession
    if concession is None:
        return ""
    sentence = _sentence(finding, catalogue)
    return f"release with concession: {sentence}; conceded by {concession.by}: {concession.reason}"
