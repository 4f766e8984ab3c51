"""A word typed or scanned as an answer: the four that there are, however they arrive."""

from collections.abc import Mapping
from enum import Enum
from typing import Final

from closeout.model.late_pattern import late_pattern


class Word(Enum):
    """What a person can say to a question. The bar codes of the answer card hold these values."""

    YES = "YES"
    NO = "NO"
    NEXT = "NEXT"
    STOP = "STOP"


WORDS: Final[Mapping[str, Word]] = {
    "": Word.NEXT,
    "y": Word.YES,
    "n": Word.NO,
    "zes": Word.YES,
    **{word.value.lower(): word for word in Word},
}
"""`zes` is what a scanner that types as on a QWERTY keyboard leaves on a QWERTZ one."""

PREFIX: Final = late_pattern(r"[^a-z]c[^a-z](?=.)")
"""`]C0`, `]C1`: the mark of Code 128; a foreign layout has other signs around the letter."""


MARK: Final = late_pattern(r"\][A-Za-z][0-9A-Za-z]")
"""The same before any other code, where a letter more or less would be another code."""


def tidy_code(typed: str) -> str:
    """A typed or scanned code without blanks and the scanner's mark."""
    return MARK.sub("", typed.strip(), count=1) if MARK.match(typed.strip()) else typed.strip()


def read_word(typed: str) -> Word | None:
    """The word, in either case, with blanks and the scanner's mark around it; None for any other.

    An empty line is NEXT.
    """
    tidied = typed.strip().lower()
    return WORDS.get(PREFIX.sub("", tidied, count=1) if PREFIX.match(tidied) else tidied)
