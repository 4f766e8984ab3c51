"""Which form of each option the unit has: by the order, else its SKU, else by what it shows.

What a unit shows is no proof of what it should have: a reader that was left out looks like a model
without one. So where neither order nor SKU says, a person is asked.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Final

from closeout.judge.demands import judge_expectation
from closeout.judge.selection import attribute_of
from closeout.model.catalogue import Catalogue, Entry
from closeout.model.expectation import Expectation, Weight
from closeout.model.finding import Finding, Outcome
from closeout.model.frozen import frozen, replace
from closeout.model.inventory import Inventory
from closeout.model.option import Choice, Option
from closeout.model.reading import Value

OPTION: Final = "option"
"""What stands in a rule id in place of a class."""

_WEIGHTS: Final = tuple(Weight)


@frozen
class Told:
    """What says which form a unit has: the order's words for options, and the SKU on its label."""

    choices: Mapping[str, str]
    sku: str = ""
    not_present: frozenset[str] = frozenset()


@frozen
class Settled:
    """The profile's demands with those of the choices, and what a person must confirm."""

    expectations: tuple[Expectation, ...]
    findings: tuple[Finding, ...]
    catalogue: Catalogue


def settle_options(
    inventory: Inventory,
    expectations: Sequence[Expectation],
    options: Iterable[Option],
    told: Told,
    catalogue: Catalogue,
) -> Settled:
    """Each option decided: the demands of a choice stand in place of the profile's like them.

    Raises KeyError where the catalogue does not explain a rule of a choice.
    """
    demands = tuple(expectations)
    findings: list[Finding] = []
    entries: dict[str, Entry] = {}
    for option in options:
        choice, is_sure = choose(inventory, option, told, catalogue)
        keys = {expectation.about for expectation in choice.expectations}
        kept = (expectation for expectation in demands if expectation.about not in keys)
        demands = (*kept, *choice.expectations)
        if not is_sure:
            finding = _ask(inventory, option, choice, told, catalogue)
            findings.append(finding)
            entries[finding.rule] = _entry(option, choice)
    explained = replace(catalogue, entries={**catalogue.entries, **entries}) if entries else None
    return Settled(expectations=demands, findings=tuple(findings), catalogue=explained or catalogue)


def choose(
    inventory: Inventory, option: Option, told: Told, catalogue: Catalogue
) -> tuple[Choice, bool]:
    """The form that the unit has, and whether order or SKU says so."""
    for choice in option.choices:
        if told.choices.get(option.name) == choice.name:
            return choice, True
    skus = [told.sku] if told.sku else list(_skus_of(inventory))
    fitting = [choice for choice in option.choices if _fits(choice, skus)]
    if len(fitting) == 1:
        return fitting[0], True
    open_choices = fitting or option.choices
    ranked = sorted(
        open_choices,
        key=lambda choice: _disagreement(inventory, choice, told.not_present, catalogue),
    )
    return ranked[0], False


def _skus_of(inventory: Inventory) -> Iterator[str]:
    for device in inventory.section("system").devices:
        reading = attribute_of(device, "sku")
        if isinstance(reading, Value):
            yield str(reading.value)


def _fits(choice: Choice, skus: Iterable[str]) -> bool:
    return bool(choice.sku) and any(re.fullmatch(choice.sku, sku) for sku in skus)


def _disagreement(
    inventory: Inventory, choice: Choice, not_present: frozenset[str], catalogue: Catalogue
) -> tuple[object, ...]:
    """How much of a choice the unit does not show; among equals, the one that demands most first.

    Failed demands count by weight, then those that could not be told.
    """
    findings = list(_judge(inventory, choice, not_present, catalogue))
    failed = [
        sum(finding.outcome is Outcome.FAIL and finding.weight is weight for finding in findings)
        for weight in Weight
    ]
    untold = sum(finding.outcome not in {Outcome.FAIL, Outcome.PASS} for finding in findings)
    return (*failed, untold, -len(findings), choice.name)


def _judge(
    inventory: Inventory, choice: Choice, not_present: frozenset[str], catalogue: Catalogue
) -> Iterator[Finding]:
    for expectation in choice.expectations:
        if expectation.kind not in not_present:
            plain = replace(expectation, review_only=False)
            yield from judge_expectation(inventory, plain, catalogue)


def _ask(
    inventory: Inventory, option: Option, choice: Choice, told: Told, catalogue: Catalogue
) -> Finding:
    findings = list(_judge(inventory, choice, told.not_present, catalogue))
    missed = sum(finding.outcome is not Outcome.PASS for finding in findings)
    names = ", ".join(sorted(one.name for one in option.choices))
    met = f"{len(findings) - missed} of its {len(findings)} demands are met"
    return Finding(
        rule=f"{OPTION}.{option.name}",
        subject=option.name,
        label=_title(option),
        weight=_weight_of(option),
        outcome=Outcome.REVIEW,
        expected=f"what the order says (it does not say), one of {names}",
        found=f"the unit looks like {choice.name}: {met}" if findings else _by_default(choice),
        origin=_origin_of(option),
        evidence=tuple(dict.fromkeys(source for one in findings for source in one.evidence)),
        answerable=True,
        answer=None,
        concession=None,
    )


def _title(option: Option) -> str:
    return f"Which form: {option.name.replace('-', ' ')}"


def _by_default(choice: Choice) -> str:
    return f"the unit looks like {choice.name}, of which nothing is demanded"


def _weight_of(option: Option) -> Weight:
    """The weight of the heaviest demand in which the choices differ."""
    asked = [
        {(one.about, one.demand, one.weight) for one in choice.expectations}
        for choice in option.choices
    ]
    apart = [one for mine in asked for one in mine if any(one not in other for other in asked)]
    return min((weight for _, _, weight in apart), key=_WEIGHTS.index, default=Weight.NOTE)


def _origin_of(option: Option) -> str:
    origins = sorted(one.origin for choice in option.choices for one in choice.expectations)
    return origins[0].partition(",")[0] if origins else f"option {option.name}"


def _entry(option: Option, choice: Choice) -> Entry:
    """What the finding means to people; ids of options are the profile's, not the catalogue's."""
    named = option.name.replace("-", " ")
    return Entry(
        title=_title(option),
        meaning=f"Units of this model come with more than one form of {named}.",
        impact="A part that was left out looks like a unit that never had it.",
        advice=f"Look up on the order or the label which {named} the unit has, and name it"
        " under [options] of the work order.",
        caution="",
        question=f"The order does not say which {named}; the unit looks like {choice.name}."
        " Is that right?",
        answerable=True,
    )
