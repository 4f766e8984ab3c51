"""What a library was heard to say, and what becomes of it beside our own reading."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, TypeAlias, TypeVar

from closeout.decode.failure import DecodeError
from closeout.kernel.failure import ReadError
from closeout.kernel.tree import KernelTree
from closeout.model.reading import Reading, Unreadable, Value
from closeout.readers.attributes import no_value

T = TypeVar("T")

Comparison: TypeAlias = Reading[tuple[str, ...]]
"""What differs; empty where both agree, absent where there is nothing that both could tell."""

AGREED: Final[tuple[str, ...]] = ()


def hear(tree: KernelTree, question: str, decode: Callable[[bytes], T]) -> Reading[T]:
    """The library's answer, decoded; why there is none otherwise."""
    try:
        return Value(value=decode(tree.ask(question)), sources=(question,))
    except ReadError as failure:
        return no_value(failure)
    except DecodeError as error:
        return Unreadable(error="MALFORMED", advice=str(error), sources=(question,))


def show_texts(*texts: str) -> str:
    """Texts in quotes, as they stand in a disagreement; blank ones are left out."""
    return ", ".join(repr(text) for text in texts if text) or "none"
