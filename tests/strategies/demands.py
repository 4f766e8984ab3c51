"""Expectations and a catalogue for tests of the judge."""

from closeout.model.attribute import attributes_of
from closeout.model.catalogue import Catalogue, Entry
from closeout.model.expectation import Condition, Demand, Expectation, Present, Weight, rule_id
from closeout.model.inventory import KINDS

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
        for attribute in ("", *attributes_of(record))
    ]
    return Catalogue(version="test", entries={rule: entry(rule) for rule in rules})
