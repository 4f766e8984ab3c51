"""Answers of drives decoded into readings (questions of `kernel.question_names`)."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, TypeAlias, TypeVar

from closeout.decode.failure import DecodeError
from closeout.kernel.failure import ReadError
from closeout.kernel.tree import KernelTree
from closeout.model.frozen import fields, replace
from closeout.model.reading import Absent, NoValue, Reading, Unreadable, Value
from closeout.model.storage import NOT_TOLD, Drive
from closeout.readers.attributes import no_value

T = TypeVar("T")
U = TypeVar("U")

Told: TypeAlias = Value[str] | Value[int] | Value[bool] | Value[tuple[str, ...]] | NoValue
"""A reading of any attribute of a drive."""


def ask(tree: KernelTree, question: str, decode: Callable[[bytes], T]) -> Reading[T]:
    """The decoded answer to a question that no file answers."""
    try:
        answer = tree.ask(question)
    except ReadError as failure:
        return no_value(failure)
    return decoded(Value(value=answer, sources=(question,)), decode)


def decoded(raw: Reading[bytes], decode: Callable[[bytes], T]) -> Reading[T]:
    """The reading decoded; what makes no sense is unreadable."""
    if not isinstance(raw, Value):
        return raw
    try:
        return Value(value=decode(raw.value), sources=raw.sources)
    except DecodeError as error:
        return Unreadable(error="MALFORMED", advice=str(error), sources=raw.sources)


def pick(reading: Reading[T], choose: Callable[[T], U | None], missing: str) -> Reading[U]:
    """One field of what was decoded; None is a named absence."""
    if not isinstance(reading, Value):
        return reading
    chosen = choose(reading.value)
    if chosen is None:
        return Absent(reason=missing, sources=reading.sources)
    return Value(value=chosen, sources=reading.sources)


def with_health(drive: Drive, told: Mapping[str, Told]) -> Drive:
    """The drive with what it told; what its kind does not tell is absent, and says so."""
    silent = Absent(reason=NOT_TOLD.reason, sources=(drive.place,))
    untold = [field.name for field in fields(Drive) if field.default is NOT_TOLD]
    changes: dict[str, Any] = {name: told.get(name, silent) for name in untold}
    return replace(drive, **changes)
