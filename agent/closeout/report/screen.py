"""Where words for people go, line by line, and how a text is laid on lines of some width."""

from __future__ import annotations

import unicodedata
from typing import Final, Protocol, TypeAlias

from closeout.model.late_pattern import late_pattern

Piece: TypeAlias = tuple[str, str]
"""A text, and its style in the words of the console library; empty for none."""

WORD: Final = late_pattern(r"\s*\S+\s*")
NO_COLUMN: Final = frozenset({"Mn", "Me"})
WIDE: Final = frozenset({"W", "F"})


class Screen(Protocol):
    """A terminal or a file: what it can take, and a way to put a line on it."""

    @property
    def width(self) -> int:
        """Columns of a line."""
        ...

    @property
    def encoding(self) -> str:
        """How it takes characters."""
        ...

    def put(self, *pieces: Piece) -> None:
        """One line, made of safe texts; blanks at its end are left out."""
        ...


def columns(text: str) -> int:
    """What a text takes on a line: marks nothing, wide letters two columns."""
    return len(text) if text.isascii() else sum(map(_column, text))


def wrap(text: str, room: int) -> list[str]:
    """The text on lines of at most `room` columns, at least one; a longer word is broken."""
    lines: list[str] = []
    line = ""
    for word in WORD.findall(text):
        needed = columns(word.rstrip())
        if columns(line) + needed <= room:
            line += word
            continue
        if line:
            lines.append(line)
        *full, line = _broken(word, room) if needed > room else [word]
        lines += full
    return [*lines, line]


def _column(character: str) -> int:
    if unicodedata.category(character) in NO_COLUMN:
        return 0
    return 2 if unicodedata.east_asian_width(character) in WIDE else 1


def _broken(word: str, room: int) -> list[str]:
    pieces = [""]
    for character in word:
        if pieces[-1] and columns(pieces[-1] + character) > room:
            pieces.append("")
        pieces[-1] += character
    return pieces
