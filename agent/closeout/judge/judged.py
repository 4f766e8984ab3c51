"""What demands and parts share: an outcome on its way to become a finding, and its reasons."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from closeout.judge.comparison import match_reading
from closeout.judge.coverage import explain_missing
from closeout.judge.gaps import describe_gap
from closeout.judge.input_coverage import find_silent_inputs
from closeout.judge.selection import OCCUPANCY, attribute_of, told_by
from closeout.judge.wording import show_demand, show_reading
from closeout.model.attribute import Attribute, attributes_of
from closeout.model.device import Device
from closeout.model.expectation import Asked, Expectation
from closeout.model.finding import Finding, Outcome
from closeout.model.frozen import frozen
from closeout.model.inventory import KINDS, Inventory, Section
from closeout.model.reading import Absent, Unreadable

NOTHING_THERE = "there is no such device to look at"


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


def judge_unlisted(section: Section, listing: Absent | Unreadable) -> Judged:
    """A kind that could not be listed: unread, never missing."""
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


def judge_device(device: Device, expectation: Expectation) -> Judged:
    """What a device tells of the attribute against what is demanded of it."""
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


def judge_nothing(
    inventory: Inventory, section: Section, expectation: Expectation, subject: str
) -> Judged:
    """A demand on an attribute where no device is: uncovered or unread, never a pass."""
    reason = describe_gap(inventory, section.kind, expectation.bus_ids)
    return Judged(
        subject=subject,
        label=expectation.part or expectation.kind,
        outcome=Outcome.UNCOVERED if reason else Outcome.UNREAD,
        found=f"{NOTHING_THERE}; {reason}" if reason else NOTHING_THERE,
        evidence=section.listing.sources,
    )


def why_missing(inventory: Inventory, expectation: Expectation) -> tuple[Outcome, str]:
    """Uncovered where a bus shows the part without a driver; else what the buses say of it."""
    reason = describe_gap(inventory, expectation.kind, expectation.bus_ids)
    if reason:
        return Outcome.UNCOVERED, reason
    if silent := find_silent_inputs(inventory, expectation.kind):
        names = ", ".join(device.label for device in silent)
        return Outcome.FAIL, f"{names} is known to the firmware and does not answer its driver"
    return Outcome.FAIL, explain_missing(inventory, expectation.bus_ids)


def presence_sources(device: Device, conditions: Iterable[str] = ()) -> Iterator[str]:
    """What says that a device is there and meets the conditions; else the first that it tells."""
    names = (*OCCUPANCY, *conditions)
    told = [name for name in names if name in attributes_of(type(device))]
    for name in told or told_by(device)[:1]:
        yield from attribute_of(device, name).sources


def _attribute(expectation: Expectation) -> Attribute:
    attributes: Mapping[str, Attribute] = attributes_of(KINDS[expectation.kind])
    return attributes[expectation.attribute]


def _expected(expectation: Expectation) -> str:
    is_read = expectation.attribute and not isinstance(expectation.demand, Asked)
    unit = _attribute(expectation).unit if is_read else ""
    return show_demand(expectation.demand, unit)
