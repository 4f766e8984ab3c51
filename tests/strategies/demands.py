"""Expectations and a catalogue for tests of the judge."""

from typing import get_args

from closeout.model.attribute import attributes_of
from closeout.model.catalogue import Catalogue, Entry
from closeout.model.expectation import (
    Condition,
    Demand,
    Equals,
    Expectation,
    Present,
    Weight,
    rule_id,
)
from closeout.model.inventory import KINDS
from closeout.model.part_demand import UNEXPECTED, PartDemand

PRESENT = Present(at_least=1, at_most=None)


def expect(
    kind: str,
    attribute: str,
    demand: Demand,
    weight: Weight = Weight.MUST,
    **changes: object,
) -> Expectation:
    """A demand with nothing special about it but the changes."""
    plain: dict[str, object] = {
        "where": (),
        "review_only": False,
        "external_counts": False,
        "origin": "a test",
    }
    return Expectation(
        kind=kind, attribute=attribute, demand=demand, weight=weight, **{**plain, **changes}
    )


def part(kind: str, name: str, weight: Weight = Weight.MUST, **wanted: object) -> PartDemand:
    """A part of a profile; a plain value is wanted exactly, a demand as it is."""
    return PartDemand(
        kind=kind,
        name=name,
        weight=weight,
        wanted=tuple(
            (attribute, asked if isinstance(asked, get_args(Demand)) else Equals(value=asked))
            for attribute, asked in wanted.items()
        ),
        connection="",
        bus_ids=(),
        origin="a test",
        review_only=False,
        names_all=True,
    )


def where(**conditions: object) -> tuple[Condition, ...]:
    """Conditions on attributes by name."""
    return tuple(Condition(attribute=name, value=value) for name, value in conditions.items())


def entry(rule: str, *, answerable: bool = True) -> Entry:
    return Entry(
        title=f"title of {rule}",
        meaning=f"meaning of {rule}",
        impact=f"impact of {rule}",
        advice=f"advice for {rule}.",
        caution="",
        question=f"question of {rule}?",
        answerable=answerable,
    )


def whole_catalogue() -> Catalogue:
    """An entry for every rule there can be."""
    rules = [
        rule_id(kind, attribute)
        for kind, record in KINDS.items()
        for attribute in ("", UNEXPECTED, *attributes_of(record))
    ]
    return Catalogue(version="test", entries={rule: entry(rule) for rule in rules})
