"""One order for expectations, so that the order in a file never matters."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import groupby
from typing import Final

from closeout.model.attribute import attributes_of
from closeout.model.expectation import Expectation, Weight
from closeout.model.inventory import KINDS

_KINDS: Final = {kind: number for number, kind in enumerate(KINDS)}
_WEIGHTS: Final = {weight: number for number, weight in enumerate(Weight)}


def in_order(expectations: Iterable[Expectation]) -> tuple[Expectation, ...]:
    """By class and attribute as the model lists them, presence first, then the rest."""
    return tuple(_settled(sorted(expectations, key=_key)))


def _settled(expectations: Iterable[Expectation]) -> Iterator[Expectation]:
    """The few that share class, attribute and weight are ordered by all that they say."""
    for _, alike in groupby(expectations, key=_key):
        group = list(alike)
        yield from sorted(group, key=repr) if len(group) > 1 else group


def _key(expectation: Expectation) -> tuple[object, ...]:
    if expectation.kind not in KINDS:  # what no reading tells comes last
        asked = (expectation.kind, expectation.attribute)
        return (len(_KINDS), asked, _WEIGHTS[expectation.weight])
    names = ("", *attributes_of(KINDS[expectation.kind]))
    return (
        _KINDS[expectation.kind],
        names.index(expectation.attribute),
        _WEIGHTS[expectation.weight],
    )
