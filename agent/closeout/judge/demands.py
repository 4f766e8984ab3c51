"""Expectations against the inventory: one finding for each demand on each device."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from closeout.judge.judged import (
    Judged,
    judge_device,
    judge_nothing,
    judge_unlisted,
    presence_sources,
    why_missing,
)
from closeout.judge.selection import Selection, select_devices
from closeout.model.amounts import show_value
from closeout.model.catalogue import Catalogue
from closeout.model.expectation import Asked, Expectation, Present
from closeout.model.finding import Finding, Outcome
from closeout.model.inventory import Inventory, Section
from closeout.model.part_demand import PartDemand
from closeout.model.reading import Value


def judge_inventory(
    inventory: Inventory,
    expectations: Iterable[Expectation],
    catalogue: Catalogue,
    parts: Sequence[PartDemand] = (),
) -> tuple[Finding, ...]:
    """Every finding, sorted by weight, then outcome, rule and subject.

    Raises KeyError for a rule that the catalogue does not explain.
    """
    findings = [
        finding
        for expectation in expectations
        for finding in judge_expectation(inventory, expectation, catalogue)
    ]
    if parts:
        from closeout.judge.parts import judge_parts  # noqa: PLC0415 - few profiles name parts

        findings.extend(judge_parts(inventory, parts, catalogue))
    return in_order_of_weight(findings)


def in_order_of_weight(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Sorted by weight, then outcome, rule and subject."""
    return tuple(sorted(findings, key=_order))


def judge_expectation(
    inventory: Inventory, expectation: Expectation, catalogue: Catalogue
) -> Iterator[Finding]:
    """The findings of one expectation; at least one, whatever was read."""
    if isinstance(expectation.demand, Asked):
        yield _ask(expectation).finding(expectation, answerable=True)
        return
    section = inventory.section(expectation.kind)
    answerable = catalogue.entries[expectation.rule].answerable
    verdicts: Iterable[Judged]
    if not isinstance(section.listing, Value):
        verdicts = [judge_unlisted(section, section.listing)]
    elif isinstance(expectation.demand, Present):
        verdicts = [_count(inventory, section, expectation, expectation.demand)]
    else:
        verdicts = _compare(inventory, section, expectation)
    for judged in verdicts:
        yield judged.finding(expectation, answerable=answerable)


def _ask(expectation: Expectation) -> Judged:
    return Judged(
        subject=expectation.attribute,
        label=expectation.part or expectation.attribute,
        outcome=Outcome.REVIEW,
        found="no person has said it yet",
        evidence=(),
    )


def _count(
    inventory: Inventory, section: Section, expectation: Expectation, demand: Present
) -> Judged:
    selection = select_devices(section, expectation)
    found = _show_count(selection)
    outcome = _count_outcome(selection, demand)
    if outcome is Outcome.FAIL and len(selection.meeting) < demand.at_least:
        outcome, why = why_missing(inventory, expectation)
        found = f"{found}; {why}" if why else found
    return Judged(
        subject=_subject_of_none(expectation),
        label=expectation.part or expectation.kind,
        outcome=outcome,
        found=found,
        evidence=(*section.listing.sources, *_selection_sources(selection, expectation)),
    )


def _count_outcome(selection: Selection, demand: Present) -> Outcome:
    sure = len(selection.meeting)
    possible = sure + len(selection.unknown)
    most = possible if demand.at_most is None else demand.at_most
    if sure > most or possible < demand.at_least:
        return Outcome.FAIL
    if sure >= demand.at_least and possible <= most:
        return Outcome.PASS
    return Outcome.UNREAD


def _show_count(selection: Selection) -> str:
    labels = ", ".join(device.label for device in selection.meeting)
    found = f"{len(selection.meeting)}: {labels}" if labels else "none"
    if selection.unknown:
        unknown = ", ".join(device.label for device in selection.unknown)
        return f"{found}; could not tell for {unknown}"
    return found


def _selection_sources(selection: Selection, expectation: Expectation) -> Iterator[str]:
    conditions = [condition.attribute for condition in expectation.where]
    for device in (*selection.meeting, *selection.unknown):
        yield from presence_sources(device, conditions)


def _compare(inventory: Inventory, section: Section, expectation: Expectation) -> Iterator[Judged]:
    selection = select_devices(section, expectation)
    for device in (*selection.meeting, *selection.unknown):
        yield judge_device(device, expectation)
    if not selection.meeting and not selection.unknown:
        yield judge_nothing(inventory, section, expectation, _subject_of_none(expectation))


def _subject_of_none(expectation: Expectation) -> str:
    conditions = ", ".join(
        f"{condition.attribute} {show_value(condition.value, '')}"
        for condition in expectation.where
    )
    return f"{expectation.kind} with {conditions}" if conditions else expectation.kind


_WEIGHTS = ("must", "should", "note")
_OUTCOMES = ("fail", "unread", "uncovered", "review", "pass")


def _order(finding: Finding) -> tuple[int, int, str, str, str, str]:
    return (
        _WEIGHTS.index(finding.weight.value),
        _OUTCOMES.index(finding.outcome.value),
        finding.rule,
        finding.subject,
        finding.expected,
        finding.origin,
    )
