"""What to do first, and why the verdict is what it is: out of the findings alone."""

from collections.abc import Iterable, Sequence
from typing import Final

from closeout.model.catalogue import Catalogue, Entry
from closeout.model.expectation import Weight
from closeout.model.finding import Finding, Outcome
from closeout.model.report import Step
from closeout.model.verdict import Verdict, is_open, is_refused

MOST_STEPS: Final = 3


def first_steps(findings: Sequence[Finding], catalogue: Catalogue) -> tuple[Step, ...]:
    """At most three things to do, those that hold the unit first; one for the same action."""
    rules_by_step: dict[tuple[str, str], list[str]] = {}
    for finding in _pressing(findings):
        key = _step_of(finding, catalogue.entries[finding.rule])
        rules = rules_by_step.setdefault(key, [])
        if finding.rule not in rules:
            rules.append(finding.rule)
    steps = [
        Step(title=title, action=action, rules=tuple(rules))
        for (title, action), rules in rules_by_step.items()
    ]
    return tuple(steps[:MOST_STEPS])


def explain(verdict: Verdict, findings: Sequence[Finding], catalogue: Catalogue) -> tuple[str, ...]:
    """One sentence for each finding that decided, concessions always in full."""
    demands = [finding for finding in findings if finding.weight is Weight.MUST]
    conceded = [_concede(finding, catalogue) for finding in demands if finding.concession]
    match verdict:
        case Verdict.HOLD:
            deciding = [finding for finding in demands if is_refused(finding)]
        case Verdict.UNDECIDED:
            deciding = [finding for finding in demands if is_open(finding)]
        case Verdict.RELEASE:
            met = f"all {len(demands)} demands are met" if len(demands) > 1 else "the demand is met"
            return (*conceded, met) if not conceded else tuple(conceded)
    if not demands:
        return ("nothing was demanded, so nothing can be released",)
    return (*(_sentence(finding, catalogue) for finding in deciding), *conceded)


def _pressing(findings: Iterable[Finding]) -> list[Finding]:
    """Findings with something to do: refused musts, open musts, then failed shoulds."""
    musts = [finding for finding in findings if finding.weight is Weight.MUST]
    shoulds = [finding for finding in findings if finding.weight is Weight.SHOULD]
    return [
        *(finding for finding in musts if is_refused(finding)),
        *(finding for finding in musts if is_open(finding)),
        *(finding for finding in shoulds if is_refused(finding)),
    ]


def _step_of(finding: Finding, entry: Entry) -> tuple[str, str]:
    """Title and action; what was not read wants another look, not a screwdriver."""
    if is_refused(finding):
        where = f" Here: {finding.connection}." if finding.connection else ""
        return f"{entry.title}: {finding.label}", f"{entry.advice}{where}"
    match finding.outcome:
        case Outcome.UNREAD:
            return "Read what could not be read", finding.found
        case Outcome.UNCOVERED:
            action = f"This system cannot drive it ({finding.found}). {entry.question}".strip()
            return entry.title, action
        case _:
            return entry.title, entry.question or entry.advice


def _sentence(finding: Finding, catalogue: Catalogue) -> str:
    title = catalogue.entries[finding.rule].title
    answered = f"; answered {finding.answer.reply.value}" if finding.answer else ""
    return (
        f"{title} ({finding.label}): expected {finding.expected}, found {finding.found}{answered}"
    )


def _concede(finding: Finding, catalogue: Catalogue) -> str:
    concession = finding.concession
    if concession is None:
        return ""
    sentence = _sentence(finding, catalogue)
    return f"release with concession: {sentence}; conceded by {concession.by}: {concession.reason}"
