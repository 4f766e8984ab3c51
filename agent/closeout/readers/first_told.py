"""The first of several ways to ask that gives a value, for what more than one file can tell."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TypeVar

from closeout.model.reading import Absent, Reading, Value

T = TypeVar("T")


def first_told(ways: Iterable[Callable[[], Reading[T]]], nobody: str) -> Reading[T]:
    """The first value; else the first reading that failed or is blank; else absent as `nobody`.

    Later ways are asked only while none has told a value.
    """
    silent: list[Reading[T]] = []
    for ask in ways:
        reading = ask()
        if isinstance(reading, Value):
            return reading
        silent.append(reading)
    for reading in silent:
        if not isinstance(reading, Absent):
            return reading
    sources = tuple(source for reading in silent for source in reading.sources)
    return Absent(reason=nobody, sources=sources)
