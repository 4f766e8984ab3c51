"""Foreign text made safe for people: nothing in it can hide, move, recolour or run on.

Strings from hardware, orders and files are hostile until escaped. This is the first of two steps:
it takes away what acts on a reader's eye or terminal. The second belongs to the place that the
text goes to (autoescape on a page, no markup on a console).
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from typing import Final

LONGEST: Final = 2_000
"""Columns shown of one text; far above the longest serial, far below a flooded page."""

MOST_MARKS: Final = 2
"""Combining marks left on one letter; more of them paint over the lines above and below."""

INVISIBLE: Final = frozenset(
    "\u034f\u115f\u1160\u17b4\u17b5\u2800\u3164\uffa0"
    + "".join(map(chr, (*range(0x180B, 0x1810), *range(0xFE00, 0xFE10))))
    + "".join(map(chr, range(0xE0100, 0xE01F0)))
)
"""Letters and marks that show nothing (Unicode: Default_Ignorable_Code_Point, braille blank)."""

PLAIN_SPELLING: Final = str.maketrans({"µ": "u"})
"""The one letter of our own that ASCII does not have: micro."""


def make_safe(text: str, longest: int = LONGEST) -> str:
    r"""The text on one line with all that is hidden or acts written as `\x1b` or `\u202e`.

    Escaped are control, format and private characters, surrogates, unassigned ones, every space
    but the common one, invisible letters, and combining marks beyond two on a letter. What takes
    more than `longest` columns is cut, and how much of the text is shown stands behind. A
    backslash stays as it is.
    """
    if len(text) <= longest and text.isascii() and text.isprintable():
        return text
    shown: list[str] = []
    columns = 0
    for piece in _escape_hidden(text):
        columns += _columns(piece)
        if columns > longest:
            return f"{''.join(shown)} [only {len(shown)} of {len(text)} characters shown]"
        shown.append(piece)
    return "".join(shown)


def is_shown(character: str) -> bool:
    """A reader sees the character where it stands, and nothing else moves because of it."""
    return character.isprintable() and character not in INVISIBLE


def spell_out(character: str) -> str:
    r"""The visible escape of a character: `\x1b`, `\u202e` or `\U000e0041`."""
    number = ord(character)
    if number <= 0xFF:  # noqa: PLR2004 - the most that two digits can spell
        return f"\\x{number:02x}"
    return f"\\u{number:04x}" if number <= 0xFFFF else f"\\U{number:08x}"  # noqa: PLR2004


def fit_encoding(text: str, encoding: str) -> str:
    """The text in characters that a stream of this encoding can take; the rest spelled out."""
    if can_encode(text, encoding):
        return text
    plain = text.translate(PLAIN_SPELLING)
    try:
        return plain.encode(encoding, "backslashreplace").decode(encoding)
    except LookupError:
        return plain.encode("ascii", "backslashreplace").decode("ascii")


def can_encode(text: str, encoding: str) -> bool:
    """A stream of this encoding can take the text; one of an unknown encoding takes ASCII."""
    try:
        text.encode(encoding)
    except UnicodeEncodeError:
        return False
    except LookupError:
        return text.isascii()
    return True


def _escape_hidden(text: str) -> Iterator[str]:
    """Each character, or its escape."""
    marks = MOST_MARKS
    for character in text:
        is_mark = unicodedata.category(character) in {"Mn", "Me"}
        marks = marks + 1 if is_mark else 0
        kept = is_shown(character) and marks <= MOST_MARKS
        yield character if kept else spell_out(character)


def _columns(piece: str) -> int:
    """What a character or an escape takes on a terminal; wide letters take two columns."""
    if piece.isascii():
        return len(piece)
    return 2 if unicodedata.east_asian_width(piece) in {"W", "F"} else 1
