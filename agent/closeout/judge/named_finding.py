"""Which finding a person means: its number, its rule, or its rule and subject."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from closeout.expect.mistake import nearest, quote
from closeout.judge.saying import RefusedError
from closeout.model.finding import Finding

MOST_DIGITS: Final = 9


def find_finding(findings: Sequence[Finding], named: str) -> int:
    """The number of the finding, from 1: `3`, `clock.kept_time` or `clock.kept_time@rtc0`.

    A rule alone will do where the report has it once; what people call the subject will do too.

    Raises:
        RefusedError: no finding is called so, or several are.
    """
    wanted = named.strip()
    if wanted.isascii() and wanted.isdigit():
        return _find_number(findings, wanted)
    rule, at, subject = wanted.partition("@")
    numbers = [
        number
        for number, finding in enumerate(findings, start=1)
        if finding.rule == rule and (not at or subject in {finding.subject, finding.label})
    ]
    if len(numbers) == 1:
        return numbers[0]
    if numbers:
        listed = ", ".join(map(str, numbers))
        raise RefusedError(f"{quote(wanted)} are several findings, {listed}; give the number")
    raise RefusedError(f"no finding is called {quote(wanted)}{_nearest(findings, rule, subject)}")


def _find_number(findings: Sequence[Finding], wanted: str) -> int:
    number = int(wanted) if len(wanted) <= MOST_DIGITS else 0
    if 1 <= number <= len(findings):
        return number
    there = f"they are 1 to {len(findings)}" if findings else "the report has none"
    raise RefusedError(f"there is no finding {wanted[:MOST_DIGITS]}; {there}")


def _nearest(findings: Sequence[Finding], rule: str, subject: str) -> str:
    """The nearest rule; where the rule is right, the nearest of its subjects."""
    subjects = {finding.subject for finding in findings if finding.rule == rule}
    if not subjects:
        return nearest(rule, {finding.rule for finding in findings})
    labels = {finding.label for finding in findings if finding.rule == rule}
    return (
        nearest(subject, subjects | labels)
        or f"; of {rule} the report has {', '.join(sorted(subjects))}"
    )
