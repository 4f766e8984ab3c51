"""Readings of text sorted by whether they hold a value, nothing, or a factory placeholder."""

from __future__ import annotations

from closeout.decode.filler import State, classify
from closeout.model.reading import Blank, Filler, Reading, Value


def sort_text(reading: Reading[str], field: str) -> Reading[str]:
    """The reading as value, blank or filler; `field` is `Structure/Field` as the rules know it."""
    if not isinstance(reading, Value):
        return reading
    found = classify(field, reading.value)
    if found.state is State.VALUE:
        return reading
    if found.state is State.BLANK:
        return Blank(reason=found.reason, sources=reading.sources)
    return Filler(text=reading.value, reason=found.reason, sources=reading.sources)
