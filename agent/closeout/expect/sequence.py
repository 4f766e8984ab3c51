"""One order for expectations, so that the order in a file never matters."""

from collections.abc import Iterable

from closeout.model.attribute import attributes_of
from closeout.model.expectation import Expectation, Weight
from closeout.model.inventory import KINDS

_KINDS = tuple(KINDS)
_WEIGHTS = tuple(Weight)


def in_order(expectations: Iterable[Expectation]) -> tuple[Expectation, ...]:
    """By class and attribute as the model lists them, presence first, then the rest."""
    return tuple(sorted(expectations, key=_key))


def _key(expectation: Expectation) -> tuple[object, ...]:
    names = ("", *attributes_of(KINDS[expectation.kind]))
    return (
        _KINDS.index(expectation.kind),
        names.index(expectation.attribute),
        _WEIGHTS.index(expectation.weight),
        repr(expectation),
    )
