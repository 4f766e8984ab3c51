"""Is a regular expression fit to be tried on text that a machine gives?

Patterns are Python's `re`, without look-around, back references and inline flags. An expression
can be led to try very many ways to match before it gives up; here those ways are counted from
above, and an expression with too many is refused.
"""

from __future__ import annotations

import re
import warnings
from typing import Final

from closeout.model.late_pattern import late_pattern

LONGEST_PATTERN: Final = 200
LONGEST_READING: Final = 256
"""How often a repeat without an upper end is taken to apply; firmware strings are shorter."""

MOST_WAYS: Final = (LONGEST_READING + 1) ** 3
"""Three open repeats (`.*`); they are tried in about a second."""

MOST_QUICK_WAYS: Final = LONGEST_READING + 1
"""One open repeat: at most a few microseconds."""

REPEAT: Final = late_pattern(r"(?:[*+?]|\{(\d*)(,?)(\d*)\})[?+]?")
CHARACTER_SET: Final = late_pattern(r"\[\^?\]?(?:\\.|[^\]\\])*\]", re.DOTALL)


def fault_of_pattern(pattern: str) -> str:
    """What is wrong with a pattern, or nothing."""
    if len(pattern) > LONGEST_PATTERN:
        return f"{len(pattern)} characters; allowed: {LONGEST_PATTERN}"
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            re.compile(pattern)
        ways = ways_of(pattern)
    except (re.error, RecursionError, OverflowError, Warning) as failure:
        return f"not a pattern that Python's re accepts: {failure}"
    except NotOfferedError as failure:
        return f"{failure} is not offered in patterns"
    if ways > MOST_WAYS:
        return "can be tried in too many ways; repeat fewer parts, and none with repeats inside"
    return ""


def ways_of(pattern: str) -> int:
    """In how many ways, at most, a valid pattern can be laid over a text.

    Raises `NotOfferedError` for a construct that is not offered.
    """
    return _Ways(pattern).alternatives()


class NotOfferedError(Exception):
    """The pattern uses a construct of `re` that is not offered here."""


class _Ways:
    """An upper bound of the ways in which a valid pattern can be laid over a text."""

    def __init__(self, pattern: str) -> None:
        self._pattern = pattern
        self._at = 0

    def alternatives(self) -> int:
        ways = self._sequence()
        while self._take("|"):
            ways += self._sequence()
        return ways

    def _sequence(self) -> int:
        ways = 1
        while self._at < len(self._pattern) and self._pattern[self._at] not in "|)":
            ways = min(ways * self._repeated(self._atom()), MOST_WAYS + 1)
        return ways

    def _atom(self) -> int:
        if self._take("("):
            return self._group()
        if self._take("\\"):
            self._escape()
        elif found := CHARACTER_SET.match(self._pattern, self._at):
            self._at = found.end()
        else:
            self._at += 1
        return 1

    def _group(self) -> int:
        if self._take("?") and not self._take(":"):
            raise NotOfferedError(f"(?{self._pattern[self._at : self._at + 1]}")
        ways = self.alternatives()
        self._take(")")
        return ways

    def _escape(self) -> None:
        escaped = self._pattern[self._at : self._at + 1]
        if escaped in "123456789N":
            raise NotOfferedError(f"\\{escaped}")
        self._at += 1

    def _repeated(self, ways: int) -> int:
        found = REPEAT.match(self._pattern, self._at)
        if found is None or found.group().startswith("{}"):
            return ways
        self._at = found.end()
        fewest, most = _bounds(found)
        if ways == 1:
            return max(most - fewest, 0) + 1
        if (ways.bit_length() - 1) * most > MOST_WAYS.bit_length():
            return MOST_WAYS + 1
        return sum(ways**count for count in range(fewest, most + 1))

    def _take(self, text: str) -> bool:
        if not self._pattern.startswith(text, self._at):
            return False
        self._at += len(text)
        return True


def _bounds(repeat: re.Match[str]) -> tuple[int, int]:
    match repeat.group()[0]:
        case "*":
            return 0, LONGEST_READING
        case "+":
            return 1, LONGEST_READING
        case "?":
            return 0, 1
        case _:
            fewest = int(repeat[1] or 0)
            most = int(repeat[3] or LONGEST_READING) if repeat[2] else fewest
            return min(fewest, LONGEST_READING), min(most, LONGEST_READING)
