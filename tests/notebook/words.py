"""Words that stand for other words in a text: in one pass, the longest first, never in part."""

import re
from collections.abc import Mapping
from typing import Final

LETTER: Final = "[A-Za-z0-9]"
PADDING: Final = r"(?P<padding> +(?=\n|\Z))?"
"""Blanks up to the line's end fill a field of fixed width."""


class NoRoomError(ValueError):
    """A word is longer than the padded field it belongs into."""


class Words:
    """A list of words with what stands for each.

    A word that begins or ends with a letter or digit is not found inside a longer one; for a name
    with `_` in it that is no border (`QEMU_NVMe` holds the word `QEMU`). A field that was padded
    with blanks up to the line's end keeps its width.
    """

    def __init__(self, listed: Mapping[str, str]) -> None:
        self._listed = dict(listed)
        longest_first = sorted(listed, key=lambda word: (-len(word), word))
        alternatives = "|".join(map(_bordered, longest_first)) or "(?!)"
        self._pattern = re.compile(f"(?P<word>{alternatives}){PADDING}")

    def replaced(self, text: str) -> str:
        """The text with each word replaced."""
        return self._pattern.sub(self._replacement, text)

    def first_in(self, text: str) -> str | None:
        """The first word in a text."""
        found = self._pattern.search(text)
        return found["word"] if found else None

    def _replacement(self, found: re.Match[str]) -> str:
        new = self._listed[found["word"]]
        if not found["padding"]:
            return new
        room = len(found[0]) - len(new)
        if room < 1:
            raise NoRoomError(f"{new!r} does not fit into the {len(found[0])} places of a field")
        return new + " " * room


def _bordered(word: str) -> str:
    before = f"(?<!{LETTER})" if re.match(LETTER, word) else ""
    after = f"(?!{LETTER})" if re.match(LETTER, word[-1]) else ""
    return f"{before}{re.escape(word)}{after}"
