"""Personal texts, and the replacement of each wherever it occurs in another text."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import Final

SHORTEST_SOUGHT: Final = 5
"""Shorter texts are masked in their own attribute; sought elsewhere they would hit everything."""

MOST_SHOWN: Final = 4
SHORTEST_SHOWN: Final = 6
MASK: Final = "****"


def mask(text: str) -> str:
    """Four stars and the last characters of the text: at most four, at most half of it."""
    shown = min(MOST_SHOWN, len(text) // 2) if len(text) >= SHORTEST_SHOWN else 0
    return MASK + text[len(text) - shown :]


class Veil:
    """All personal texts of a report, and the replacement of each wherever it occurs."""

    def __init__(self, personal: Iterable[str]) -> None:
        spellings = {spelling for text in personal for spelling in _spellings(text)}
        sought = [text for text in spellings if len(text) >= SHORTEST_SOUGHT]
        self._short = spellings.difference(sought)
        longest_first = sorted(sought, key=lambda text: (-len(text), text))
        words = "|".join(re.escape(text) for text in longest_first)
        self._pattern = re.compile(words, re.IGNORECASE) if words else None

    def over(self, text: str) -> str:
        """The text with every personal part of it masked."""
        if self._pattern is None:
            return text
        return self._pattern.sub(lambda found: mask(found[0]), text)

    def over_whole(self, text: str) -> str:
        """The text masked where it is, but for a remark in brackets, a short personal value."""
        value, bracket, remark = text.partition(" (")
        return f"{MASK}{bracket}{remark}" if value in self._short else self.over(text)

    def over_all(self, texts: Iterable[str]) -> tuple[str, ...]:
        """Each of the texts with its personal parts masked."""
        return tuple(self.over(text) for text in texts)


def _spellings(text: str) -> Iterator[str]:
    """The text, and an address without separators as it stands in interface names."""
    yield text
    yield text.strip()
    yield re.sub(r"[:\-\s]", "", text)
