"""Readings of bytes and of answers, decoded; what makes no sense is unreadable, never nothing."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TypeVar

from closeout.decode.failure import DecodeError
from closeout.kernel.failure import ReadError
from closeout.kernel.tree import KernelTree
from closeout.model.inventory import Listing
from closeout.model.reading import Absent, Reading, Unreadable, Value, combine
from closeout.readers.attributes import no_value

T = TypeVar("T")


def decoded(raw: Reading[bytes], decode: Callable[[bytes], T]) -> Reading[T]:
    """The reading with its bytes decoded."""
    if not isinstance(raw, Value):
        return raw
    try:
        return Value(value=decode(raw.value), sources=raw.sources)
    except DecodeError as error:
        return Unreadable(error="MALFORMED", advice=str(error), sources=raw.sources)


def ask_bytes(tree: KernelTree, question: str) -> Reading[bytes]:
    """The answer to a question that no file answers."""
    try:
        return Value(value=tree.ask(question), sources=(question,))
    except ReadError as failure:
        return no_value(failure)


def collect(
    parts: Iterable[Reading[tuple[T, ...]]], sources: tuple[str, ...]
) -> Reading[tuple[T, ...]]:
    """All parts as one; what is gone adds nothing, what cannot be read leaves all unknown."""
    whole: Reading[tuple[T, ...]] = Value(value=(), sources=sources)
    for part in parts:
        if not isinstance(part, Absent):
            whole = combine(whole, part, lambda done, new: done + new)
    return whole


def collect_places(parts: Iterable[Reading[tuple[str, ...]]], sources: tuple[str, ...]) -> Listing:
    """The places of all parts as a listing; one that cannot be read leaves it unreadable."""
    whole = collect(parts, sources)
    if isinstance(whole, Value | Absent | Unreadable):
        return whole
    advice = "a file that always has text is blank; read again"
    return Unreadable(error="MALFORMED", advice=advice, sources=whole.sources)
