"""A word typed or scanned as an answer: the four that there are, however they arrive."""

from __future__ import annotations

from collections.abc import Mapping
from enum import Enum
from typing import Final

from closeout.expect.scan import Settled, settle, tidy


class Word(Enum):
    """What a person can say to a question. The bar codes of the answer card hold these values."""

    YES = "YES"
    NO = "NO"
    NEXT = "NEXT"
    STOP = "STOP"


LETTERS: Final[Mapping[str, Word]] = {"y": Word.YES, "n": Word.NO}
"""Typed by hand, and so as the keyboard has them."""


def read_word(typed: str) -> Word | None:
    """The word, in either case, typed or scanned in any way that `scan` undoes; None for any other.

    An empty line is NEXT.
    """
    if not typed.strip():
        return Word.NEXT
    if letter := LETTERS.get(tidy(typed).lower()):
        return letter
    found = settle(typed, lambda text: text.upper() in Word.__members__)
    return Word[found.text.upper()] if isinstance(found, Settled) else None
