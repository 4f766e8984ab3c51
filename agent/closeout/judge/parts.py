"""Parts against the inventory: each part has one device, and all of them together fit best.

Devices are assigned to the parts of their kind so that the whole disagreement is least (see
`disagreement` and `assignment`). So a module of the wrong size in the right socket is one finding
about its size, not a module missing and another unknown.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from closeout.judge.assignment import assign
from closeout.judge.disagreement import cost_of_none, disagreement
from closeout.judge.judged import (
    Judged,
    judge_device,
    judge_nothing,
    judge_unlisted,
    presence_sources,
    why_missing,
)
from closeout.judge.selection import attribute_of, is_there
from closeout.judge.wording import show_reading
from closeout.model.attribute import attributes_of
from closeout.model.catalogue import Catalogue
from closeout.model.device import Device
from closeout.model.expectation import Expectation, Weight, rule_id
from closeout.model.finding import Finding, Outcome
from closeout.model.frozen import frozen, replace
from closeout.model.inventory import Inventory, Section
from closeout.model.part_demand import UNEXPECTED, PartDemand
from closeout.model.reading import Value


@frozen
class Matching:
    """Which device each part has, None where none is left for it; and the devices left over."""

    pairs: tuple[tuple[PartDemand, Device | None], ...]
    left_over: tuple[Device, ...]


def judge_parts(
    inventory: Inventory, parts: Iterable[PartDemand], catalogue: Catalogue
) -> Iterator[Finding]:
    """One finding for the presence of each part, one for each attribute, one for each device more.

    Raises KeyError for a rule that the catalogue does not explain.
    """
    alike: dict[tuple[str, bool], list[PartDemand]] = {}
    for part in parts:
        alike.setdefault((part.kind, part.names_all), []).append(part)
    for (kind, _), group in alike.items():
        section = inventory.section(kind)
        if isinstance(section.listing, Value):
            yield from _judge_group(inventory, section, group, catalogue)
        else:
            judged = judge_unlisted(section, section.listing)
            for part in group:
                for expectation in (part.presence, *part.demands):
                    about = replace(judged, subject=_subject_of(part), label=part.name)
                    yield _finding(about, expectation, catalogue)


def match_devices(parts: Iterable[PartDemand], devices: Iterable[Device]) -> Matching:
    """The parts of one kind and their devices at the least cost.

    The order of neither matters: among equals the earlier part by name has the earlier place.
    """
    rows = sorted(parts, key=lambda part: (part.name, repr(part)))
    columns = sorted(devices, key=lambda device: (device.place, repr(device)))
    costs = [
        [*(disagreement(part, device) for device in columns), *([cost_of_none(part)] * len(rows))]
        for part in rows
    ]
    assigned = assign(costs)
    taken = set(assigned)
    return Matching(
        pairs=tuple(
            (part, columns[column] if column < len(columns) else None)
            for part, column in zip(rows, assigned, strict=True)
        ),
        left_over=tuple(device for at, device in enumerate(columns) if at not in taken),
    )


def _judge_group(
    inventory: Inventory, section: Section, parts: Sequence[PartDemand], catalogue: Catalogue
) -> Iterator[Finding]:
    matching = match_devices(parts, section.devices)
    others = tuple(each for each in matching.left_over if is_there(each, external_counts=False))
    for part, device in matching.pairs:
        if device is None:
            judged = _judge_missing(inventory, section, part, others)
        else:
            judged = _judge_assigned(section, part, device)
        for expectation, about in judged:
            yield _finding(about, expectation, catalogue)
    if parts[0].names_all:
        for device in others:
            yield _judge_unexpected(section, parts, device, catalogue)


def _judge_assigned(
    section: Section, part: PartDemand, device: Device
) -> Iterator[tuple[Expectation, Judged]]:
    is_sure = is_there(device, external_counts=part.external_counts)
    yield (
        part.presence,
        Judged(
            subject=device.place,
            label=part.name,
            outcome=Outcome.PASS if is_sure else Outcome.UNREAD,
            found=device.label if is_sure else f"none; could not tell for {device.label}",
            evidence=(*section.listing.sources, *presence_sources(device)),
        ),
    )
    for demand in part.demands:
        yield demand, replace(judge_device(device, demand), label=part.name)


def _judge_missing(
    inventory: Inventory, section: Section, part: PartDemand, others: Sequence[Device]
) -> Iterator[tuple[Expectation, Judged]]:
    """Where the bus shows the part, its attributes stay open too: nobody has seen them."""
    outcome, why = why_missing(inventory, part.presence)
    if others and not why:
        labels = ", ".join(device.label for device in others)
        why = f"{labels} differs in all that is wanted"
    yield (
        part.presence,
        Judged(
            subject=_subject_of(part),
            label=part.name,
            outcome=outcome,
            found=f"none; {why}" if why else "none",
            evidence=section.listing.sources,
        ),
    )
    if outcome is not Outcome.FAIL:
        for demand in part.demands:
            yield demand, judge_nothing(inventory, section, demand, _subject_of(part))


def _finding(judged: Judged, expectation: Expectation, catalogue: Catalogue) -> Finding:
    return judged.finding(expectation, answerable=catalogue.entries[expectation.rule].answerable)


def _judge_unexpected(
    section: Section, parts: Sequence[PartDemand], device: Device, catalogue: Catalogue
) -> Finding:
    rule = rule_id(section.kind, UNEXPECTED)
    return Finding(
        rule=rule,
        subject=device.place,
        label=device.label,
        weight=Weight.NOTE,
        outcome=Outcome.REVIEW,
        expected="the parts that the profile names, and no more",
        found=_describe(device, parts),
        origin=min(part.origin for part in parts),
        evidence=(*section.listing.sources, *presence_sources(device)),
        answerable=catalogue.entries[rule].answerable,
        answer=None,
        concession=None,
    )


def _describe(device: Device, parts: Iterable[PartDemand]) -> str:
    """What the device tells of that by which the parts of its kind are told."""
    named = {attribute for part in parts for attribute, _ in part.wanted}
    told = [
        show_reading(reading, attribute)
        for name, attribute in attributes_of(type(device)).items()
        if name in named and isinstance(reading := attribute_of(device, name), Value)
    ]
    return ", ".join(dict.fromkeys(told)) or "one more"


def _subject_of(part: PartDemand) -> str:
    return f"{part.kind} ({part.name})"
