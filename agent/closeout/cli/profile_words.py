"""A profile in plain sentences: what is demanded, by which file, and where that is from."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Final

from closeout.expect.profile import Profile
from closeout.judge.wording import show_demand
from closeout.model.amounts import show_value
from closeout.model.attribute import attributes_of
from closeout.model.expectation import Expectation, MatchesOrder, Weight
from closeout.model.frozen import replace
from closeout.model.inventory import KINDS

VERBS: Final[Mapping[Weight, str]] = {
    Weight.MUST: "must be",
    Weight.SHOULD: "should be",
    Weight.NOTE: "is noted unless it is",
}


def explain(profile: Profile) -> Iterator[str]:
    """The whole profile, a sentence a line."""
    yield f"{profile.title} ({profile.id}), revision {profile.revision}."
    if len(profile.chain) > 1:
        made = ", ".join(f"{file.name} revision {file.revision}" for file in profile.chain)
        yield f"Made of {made}; what a later one says goes before an earlier one's."
    yield _explain_match(profile)
    yield from _explain_facts(profile)
    for weight in Weight:
        mine = [one for one in profile.expectations if one.weight is weight]
        if mine:
            yield ""
            yield f"{weight.value.capitalize()}:"
            yield from (f"  {sentence(expectation)}" for expectation in mine)
    for option in profile.options:
        yield ""
        yield f"Option {option.name}: by the order, else by the SKU, else a person is asked."
        for choice in option.choices:
            by_sku = f", with a SKU like {choice.sku}" if choice.sku else ""
            yield f"  {choice.name}{by_sku}:"
            told = [sentence(expectation) for expectation in choice.expectations]
            yield from (f"    {line}" for line in told or ["Nothing more is demanded."])


def sentence(expectation: Expectation) -> str:
    """One demand and who makes it: `wifi: must be present. By profile northlake/fen.`."""
    return f"{_demand(expectation)}. By {expectation.origin}."


def differences(old: Profile, new: Profile) -> Iterator[str]:
    """What the new profile adds, takes away and changes, a sentence a line.

    Which file of a chain makes a demand is no difference.
    """
    yield from _differences("", old.expectations, new.expectations)
    before, after = dict(_choices(old)), dict(_choices(new))
    for name in sorted({*before, *after}):
        if name not in before or name not in after:
            yield f"{'removed' if name in before else 'added'}: {name}."
        yield from _differences(f"{name}: ", before.get(name, ()), after.get(name, ()))
    mine, theirs = list(_explain_facts(old)), list(_explain_facts(new))
    yield from (f"removed: {line}" for line in mine if line not in theirs)
    yield from (f"added: {line}" for line in theirs if line not in mine)


def _choices(profile: Profile) -> Iterator[tuple[str, tuple[Expectation, ...]]]:
    for option in profile.options:
        for choice in option.choices:
            sku = f" (SKU like {choice.sku})" if choice.sku else ""
            yield f"option {option.name}, {choice.name}{sku}", choice.expectations


def _differences(
    begin: str, old: Iterable[Expectation], new: Iterable[Expectation]
) -> Iterator[str]:
    before, after = _by_key(old), _by_key(new)
    for key in {**before, **after}:
        gone = [one for one in before.get(key, []) if one not in after.get(key, [])]
        come = [one for one in after.get(key, []) if one not in before.get(key, [])]
        if len(gone) == len(come) == 1:
            yield f"changed: {begin}{_demand(gone[0])}; now: {_demand(come[0])}."
        else:
            yield from (f"removed: {begin}{_demand(one)}." for one in gone)
            yield from (f"added: {begin}{_demand(one)}." for one in come)


def _by_key(expectations: Iterable[Expectation]) -> dict[object, list[Expectation]]:
    found: dict[object, list[Expectation]] = {}
    for one in expectations:
        key = (one.kind, one.attribute, one.where, one.external_counts)
        found.setdefault(key, []).append(replace(one, origin=""))
    return found


def _demand(expectation: Expectation) -> str:
    conditions = " and ".join(
        f"{one.attribute} is {show_value(one.value, '')}" for one in expectation.where
    )
    who = f"{expectation.kind}{f' where {conditions}' if conditions else ''}"
    called = f" ({expectation.part})" if expectation.part else ""
    asks = (
        f"{who}{called}: {_subject(expectation)}{VERBS[expectation.weight]} {_shown(expectation)}"
    )
    return "; ".join([asks, *_remarks(expectation)])


def _subject(expectation: Expectation) -> str:
    if not expectation.attribute:
        return ""
    attribute = attributes_of(KINDS[expectation.kind])[expectation.attribute]
    return f"{expectation.attribute} ({attribute.meaning}) "


def _shown(expectation: Expectation) -> str:
    if isinstance(expectation.demand, MatchesOrder):
        return "what the work order says"
    name = expectation.attribute
    unit = attributes_of(KINDS[expectation.kind])[name].unit if name else ""
    return show_demand(expectation.demand, unit)


def _remarks(expectation: Expectation) -> Iterator[str]:
    if expectation.review_only:
        yield "otherwise a person is asked"
    if expectation.external_counts:
        yield "what is plugged in counts too"
    if expectation.connection:
        yield f"look at {expectation.connection}"
    if expectation.bus_ids:
        yield f"its bus shows it as {' or '.join(expectation.bus_ids)}"


def _explain_match(profile: Profile) -> str:
    if profile.only_inherited:
        return "A base: no unit is judged by it, others inherit it."
    if profile.matches is None:
        return "For any unit; chosen where the operator or the order names it."
    maker, product = profile.matches.manufacturer, profile.matches.product
    return f"For units whose firmware names the maker {maker!r} and the product {product!r}."


def _explain_facts(profile: Profile) -> Iterator[str]:
    built_in = profile.built_in
    for what, names in (
        ("Inside the unit: connectors", built_in.connectors),
        ("Inside the unit: what is at USB ports", built_in.usb_ports),
        ("Inside the unit: USB devices", built_in.usb_ids),
        ("The model has no", profile.lacks),
        ("Healthy units leave blank:", tuple(f"{kind}.{name}" for kind, name in profile.blank)),
    ):
        if names:
            yield f"{what} {', '.join(names)}."
    if profile.keyboard_layout:
        yield f"The keyboard's layout is {profile.keyboard_layout}."
    for field, form in profile.labels.items():
        prefixes = f" after {' or '.join(form.prefixes)}" if form.prefixes else ""
        yield f"The label shows {field}{prefixes}; case {form.case}, hyphens {form.hyphens}."
    for rule in profile.harmless:
        yield f"A line of the kernel's log like {rule.pattern} is harmless: {rule.meaning}."
    for drop in profile.dropped:
        kind, attribute, _ = drop.key
        yield f"Not demanded although inherited: {kind} {attribute or 'presence'}: {drop.reason}."
