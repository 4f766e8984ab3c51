"""Expectations against the inventory: one finding for each demand on each device."""

from collections.abc import Iterable, Iterator, Mapping

from closeout.judge.comparison import match_reading
from closeout.judge.coverage import explain_missing
from closeout.judge.gaps import describe_gap
from closeout.judge.input_coverage import find_silent_inputs
from closeout.judge.selection import OCCUPANCY, Selection, attribute_of, select_devices, told_by
from closeout.judge.wording import show_demand, show_reading
from closeout.model.amounts import show_value
from closeout.model.attribute import Attribute, attributes_of
from closeout.model.catalogue import Catalogue
from closeout.model.device import Device
from closeout.model.expectation import Asked, Expectation, Present
from closeout.model.finding import Finding, Outcome
from closeout.model.frozen import frozen
from closeout.model.inventory import KINDS, Inventory, Section
from closeout.model.reading import Absent, Unreadable, Value


def judge_inventory(
    inventory: Inventory, expectations: Iterable[Expectation], catalogue: Catalogue
) -> tuple[Finding, ...]:
    """Every finding, sorted by weight, then outcome, rule and subject.

    Raises KeyError for a rule that the catalogue does not explain.
    """
    findings = [
        finding
        for expectation in expectations
        for finding in judge_expectation(inventory, expectation, catalogue)
    ]
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
        verdicts = [_unlisted(section, section.listing)]
    elif isinstance(expectation.demand, Present):
        verdicts = [_count(inventory, section, expectation, expectation.demand)]
    else:
        verdicts = _compare(inventory, section, expectation)
    for judged in verdicts:
        yield judged.finding(expectation, answerable=answerable)


@frozen
class Judged:
    """An outcome on its way to become a finding: about which subject, and what was found."""

    subject: str
    label: str
    outcome: Outcome
    found: str
    evidence: tuple[str, ...]

    def finding(self, expectation: Expectation, *, answerable: bool) -> Finding:
        """The finding; where a mismatch only asks a person, a failure becomes a review."""
        asked = expectation.review_only and self.outcome is Outcome.FAIL
        return Finding(
            rule=expectation.rule,
            subject=self.subject,
            label=self.label,
            weight=expectation.weight,
            outcome=Outcome.REVIEW if asked else self.outcome,
            expected=_expected(expectation),
            found=self.found,
            origin=expectation.origin,
            evidence=self.evidence,
            answerable=answerable,
            answer=None,
            concession=None,
            connection=expectation.connection,
        )


def _ask(expectation: Expectation) -> "Judged":
    return Judged(
        subject=expectation.attribute,
        label=expectation.part or expectation.attribute,
        outcome=Outcome.REVIEW,
        found="no person has said it yet",
        evidence=(),
    )


def _unlisted(section: Section, listing: Absent | Unreadable) -> Judged:
    what = ", ".join(listing.sources)
    if isinstance(listing, Absent):
        found = f"could not be looked for: {listing.reason} ({what})"
    else:
        found = f"could not be looked for ({listing.error} at {what}): {listing.advice}"
    return Judged(
        subject=section.kind,
        label=section.kind,
        outcome=Outcome.UNREAD,
        found=found,
        evidence=listing.sources,
    )


def _count(
    inventory: Inventory, section: Section, expectation: Expectation, demand: Present
) -> Judged:
    selection = select_devices(section, expectation)
    found = _show_count(selection)
    outcome = _count_outcome(selection, demand)
    if outcome is Outcome.FAIL and len(selection.meeting) < demand.at_least:
        outcome, why = _why_missing(inventory, expectation)
        found = f"{found}; {why}" if why else found
    return Judged(
        subject=_subject_of_none(expectation),
        label=expectation.part or expectation.kind,
        outcome=outcome,
        found=found,
        evidence=(*section.listing.sources, *_selection_sources(selection, expectation)),
    )


def _why_missing(inventory: Inventory, expectation: Expectation) -> tuple[Outcome, str]:
    """Uncovered where a bus shows the part without a driver; else what the buses say of it."""
    reason = describe_gap(inventory, expectation.kind, expectation.bus_ids)
    if reason:
        return Outcome.UNCOVERED, reason
    if silent := find_silent_inputs(inventory, expectation.kind):
        names = ", ".join(device.label for device in silent)
        return Outcome.FAIL, f"{names} is known to the firmware and does not answer its driver"
    return Outcome.FAIL, explain_missing(inventory, expectation.bus_ids)


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
    """What says that the devices are there and meet the conditions; else the first they tell."""
    names = (*OCCUPANCY, *(condition.attribute for condition in expectation.where))
    for device in (*selection.meeting, *selection.unknown):
        told = [name for name in names if name in attributes_of(type(device))]
        for name in told or told_by(device)[:1]:
            yield from attribute_of(device, name).sources


def _compare(inventory: Inventory, section: Section, expectation: Expectation) -> Iterator[Judged]:
    selection = select_devices(section, expectation)
    for device in (*selection.meeting, *selection.unknown):
        yield _compare_device(device, expectation)
    if not selection.meeting and not selection.unknown:
        reason = describe_gap(inventory, section.kind, expectation.bus_ids)
        nothing = "there is no such device to look at"
        yield Judged(
            subject=_subject_of_none(expectation),
            label=expectation.part or expectation.kind,
            outcome=Outcome.UNCOVERED if reason else Outcome.UNREAD,
            found=f"{nothing}; {reason}" if reason else nothing,
            evidence=section.listing.sources,
        )


def _compare_device(device: Device, expectation: Expectation) -> Judged:
    reading = attribute_of(device, expectation.attribute)
    match = match_reading(reading, expectation.demand)
    found = show_reading(reading, _attribute(expectation))
    return Judged(
        subject=device.place,
        label=device.label,
        outcome=match.outcome,
        found=f"{found} ({match.remark})" if match.remark else found,
        evidence=reading.sources,
    )


def _attribute(expectation: Expectation) -> Attribute:
    attributes: Mapping[str, Attribute] = attributes_of(KINDS[expectation.kind])
    return attributes[expectation.attribute]


def _expected(expectation: Expectation) -> str:
    is_read = expectation.attribute and not isinstance(expectation.demand, Asked)
    unit = _attribute(expectation).unit if is_read else ""
    return show_demand(expectation.demand, unit)


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
