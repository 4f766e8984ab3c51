"""One question put to the machine and its answer, with the reason when there is no value.

The five states are kept apart to the last line of a report: a value that could not be read
is never a blank one, and neither is ever a pass.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, Generic, TypeAlias, TypeVar

from closeout.model.frozen import frozen

T = TypeVar("T")
U = TypeVar("U")


@frozen
class Value(Generic[T]):
    """The machine answered; `sources` are the questions that the answer rests on."""

    value: T
    sources: tuple[str, ...]

    def __init__(self, *, value: T, sources: tuple[str, ...]) -> None:
        # Written out, in two thirds of the time: a check makes some thousands.
        self.__dict__["value"] = value
        self.__dict__["sources"] = sources


@frozen
class Blank:
    """The field opens and holds nothing: no text, spaces, NULs, or a UUID of all 00 or all FF."""

    reason: str
    sources: tuple[str, ...]


@frozen
class Filler:
    """The field holds a factory placeholder, kept in `text` as it was read."""

    text: str
    reason: str
    sources: tuple[str, ...]


@frozen
class Absent:
    """The kernel or the firmware table has no such attribute or device."""

    reason: str
    sources: tuple[str, ...]


@frozen
class Unreadable:
    """The attribute is there but gave no answer.

    `error` is an errno name (`EACCES`) or one of the words of `kernel.failure.Reason`;
    `advice` says what to do to get an answer.
    """

    error: str
    advice: str
    sources: tuple[str, ...]


NoValue: TypeAlias = Blank | Filler | Absent | Unreadable
Reading: TypeAlias = Value[T] | Blank | Filler | Absent | Unreadable

STATE_NAMES: Final[dict[type, str]] = {
    Value: "value",
    Blank: "blank",
    Filler: "filler",
    Absent: "absent",
    Unreadable: "unreadable",
}


def state_of(reading: Reading[object]) -> str:
    """The word for the state of a reading: value, blank, filler, absent or unreadable."""
    return STATE_NAMES[type(reading)]


def convert(reading: Reading[T], change: Callable[[T], U]) -> Reading[U]:
    """The reading with its value changed; every other state passes through untouched."""
    if isinstance(reading, Value):
        return Value(value=change(reading.value), sources=reading.sources)
    return reading


def combine(first: Reading[T], second: Reading[T], join: Callable[[T, T], U]) -> Reading[U]:
    """One value out of two; the first reading without a value speaks for both."""
    if not isinstance(first, Value):
        return first
    if not isinstance(second, Value):
        return second
    return Value(value=join(first.value, second.value), sources=first.sources + second.sources)
