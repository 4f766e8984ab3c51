"""`[[option]]` of a profile: forms in which a model comes, and what each demands."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from closeout.expect.demand import read_demand, read_line
from closeout.expect.mistake import KeyPath
from closeout.expect.pattern import fault_of_pattern
from closeout.expect.proofreader import Proofreader
from closeout.expect.scalar import Table
from closeout.expect.vocabulary import (
    MOST_DEMANDS,
    MOST_VALUES,
    OPTION_PATTERN,
    OPTION_RULE,
)
from closeout.model.frozen import frozen
from closeout.model.option import Choice, Option

OPTION_KEYS: Final = ("name", "choice")
CHOICE_KEYS: Final = ("name", "sku", "demand")
FEWEST_CHOICES: Final = 2


@frozen
class PlacedOption:
    """An option, and the places of the demands of each of its choices."""

    option: Option
    places: tuple[tuple[KeyPath, ...], ...]


def read_options(proof: Proofreader, tree: Table, origin: str) -> Iterator[PlacedOption]:
    """The options of a file, with every mistake in them noted."""
    seen: set[str] = set()
    for path, table in proof.tables(("option",), tree.get("option", []), MOST_VALUES):
        proof.known_keys(path, table, OPTION_KEYS)
        proof.required(path, table, *OPTION_KEYS)
        name = _read_name(proof, path, table, seen)
        choices = list(_read_choices(proof, path, table, f"{origin}, option {name}"))
        if "choice" in table and len(choices) < FEWEST_CHOICES:
            proof.note((*path, "choice"), f"at least {FEWEST_CHOICES} are wanted")
        yield PlacedOption(
            option=Option(name=name, choices=tuple(choice for choice, _ in choices)),
            places=tuple(places for _, places in choices),
        )


def _read_choices(
    proof: Proofreader, path: KeyPath, table: Table, origin: str
) -> Iterator[tuple[Choice, tuple[KeyPath, ...]]]:
    seen: set[str] = set()
    for place, inner in proof.tables((*path, "choice"), table.get("choice", []), MOST_VALUES):
        proof.known_keys(place, inner, CHOICE_KEYS)
        proof.required(place, inner, "name")
        name = _read_name(proof, place, inner, seen)
        demands = [
            (at, read_demand(proof, at, one, f"{origin}: {name}"))
            for at, one in proof.tables((*place, "demand"), inner.get("demand", []), MOST_DEMANDS)
        ]
        kept = [(at, demand) for at, demand in demands if demand is not None]
        choice = Choice(
            name=name,
            sku=_read_sku(proof, place, inner),
            expectations=tuple(demand for _, demand in kept),
        )
        yield choice, tuple(at for at, _ in kept)


def _read_name(proof: Proofreader, path: KeyPath, table: Table, seen: set[str]) -> str:
    if "name" not in table:
        return ""
    place = (*path, "name")
    name = proof.matching(place, table["name"], OPTION_PATTERN, OPTION_RULE) or ""
    if name and name in seen:
        proof.note(place, f"{name} is listed twice")
    seen.add(name)
    return name


def _read_sku(proof: Proofreader, path: KeyPath, table: Table) -> str:
    sku = read_line(proof, path, table, "sku")
    if sku and (fault := fault_of_pattern(sku)):
        proof.note((*path, "sku"), fault)
        return ""
    return sku
