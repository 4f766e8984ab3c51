"""Checks a document key by key and keeps every mistake, so that all are told at once."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from typing import Final

from closeout.expect.document import Document, is_list, is_table
from closeout.expect.mistake import (
    KeyPath,
    Mistake,
    Mistakes,
    list_words,
    nearest,
    quote,
    show_path,
)
from closeout.expect.vocabulary import LONGEST_TEXT

MOST_MISTAKES: Final = 500
LARGEST_NUMBER: Final = 1 << 63
WORDS_BY_TYPE: Final[Mapping[type, str]] = {list: "a list", dict: "a table"}


class Proofreader:
    """The mistakes of one document. A check that answers None has noted why."""

    def __init__(self, document: Document) -> None:
        self._document = document
        self._found: list[Mistake] = []
        self._unshown = 0

    def note(self, path: KeyPath, wrong: str) -> None:
        """Keeps a mistake at the line of a key."""
        if len(self._found) == MOST_MISTAKES:
            self._unshown += 1
            return
        self._found.append(self._document.mistake(path, show_path(path), wrong))

    def line(self, path: KeyPath) -> int:
        """The line of a key, for mistakes that point at a second place."""
        return self._document.places.line(path)

    def mistakes(self) -> Mistakes | None:
        """All mistakes in the order of their lines, or None where nothing is wrong."""
        if not self._found:
            return None
        found = sorted(self._found, key=lambda mistake: mistake.line)
        if self._unshown:
            rest = f"{self._unshown} more mistakes are not shown"
            found.append(self._document.mistake((), "", rest))
        return Mistakes(found=tuple(found))

    def known_keys(
        self, path: KeyPath, table: Mapping[str, object], allowed: Collection[str]
    ) -> None:
        """Notes every key that is not allowed here, with the nearest spelling."""
        for key in table:
            if key not in allowed:
                self.note((*path, key), self._not_allowed("no such key", key, allowed))

    def required(self, path: KeyPath, table: Mapping[str, object], *keys: str) -> bool:
        """Whether all these keys are given; notes each that is missing."""
        missing = [key for key in keys if key not in table]
        for key in missing:
            self.note((*path, key), "missing")
        return not missing

    def choice(self, path: KeyPath, value: object, allowed: Collection[str]) -> str | None:
        """One of the allowed words."""
        if isinstance(value, str) and value in allowed:
            return value
        word = value if isinstance(value, str) else ""
        self.note(path, self._not_allowed(f"{quote(value)} is not known here", word, allowed))
        return None

    def text(self, path: KeyPath, value: object, longest: int = LONGEST_TEXT) -> str | None:
        """One line of printable text that is not blank."""
        if not isinstance(value, str):
            self.note(path, f"text is wanted, {describe(value)} is given")
        elif not value.strip():
            self.note(path, "text is wanted, nothing but space is given")
        elif len(value) > longest:
            self.note(path, f"{len(value)} characters; allowed: {longest}")
        elif not value.isprintable():
            self.note(path, f"{quote(value)} holds characters that cannot be printed")
        else:
            return value
        return None

    def matching(self, path: KeyPath, value: object, pattern: str, rule: str) -> str | None:
        """Text that matches a pattern, which `rule` puts into words."""
        text = self.text(path, value)
        if text is None or re.fullmatch(pattern, text):
            return text
        self.note(path, f"{quote(text)} is not allowed; allowed: {rule}")
        return None

    def number(self, path: KeyPath, value: object, unit: str = "") -> int | None:
        """A whole number that is not negative."""
        wanted = f"a whole number in {unit}" if unit else "a whole number"
        if not isinstance(value, int) or isinstance(value, bool):
            self.note(path, f"{wanted} is wanted, {describe(value)} is given")
        elif not 0 <= value < LARGEST_NUMBER:
            self.note(path, f"{wanted} from 0 to 2^63 is wanted, {quote(value)} is given")
        else:
            return value
        return None

    def flag(self, path: KeyPath, value: object) -> bool | None:
        """True or false."""
        if isinstance(value, bool):
            return value
        self.note(path, f"true or false is wanted, {describe(value)} is given")
        return None

    def only_true(self, path: KeyPath, value: object) -> bool:
        """Whether it is true, the only value that means anything here."""
        if value is True:
            return True
        self.note(path, f"only true can be given, {describe(value)} is given; leave the key out")
        return False

    def table(self, path: KeyPath, value: object) -> Mapping[str, object]:
        """A table; an empty one stands in where it is none."""
        if is_table(value):
            return value
        self.note(path, f"a table is wanted, {describe(value)} is given")
        return {}

    def items(self, path: KeyPath, value: object, most: int) -> Iterator[tuple[KeyPath, object]]:
        """The items of a list with their paths; nothing where it is none or too long."""
        if not is_list(value):
            self.note(path, f"a list is wanted, {describe(value)} is given")
        elif len(value) > most:
            self.note(path, f"{len(value)} items; allowed: {most}")
        else:
            for index, item in enumerate(value):
                yield (*path, index), item

    def tables(
        self, path: KeyPath, value: object, most: int
    ) -> Iterator[tuple[KeyPath, Mapping[str, object]]]:
        """The tables of a list with their paths."""
        for place, item in self.items(path, value, most):
            if is_table(item):
                yield place, item
            else:
                self.note(place, f"a table is wanted, {describe(item)} is given")

    @staticmethod
    def _not_allowed(wrong: str, word: str, allowed: Collection[str]) -> str:
        return f"{wrong}; allowed: {list_words(allowed)}{nearest(word, allowed)}"


def describe(value: object) -> str:
    """What kind of value it is, with the value itself where that helps."""
    match value:
        case bool():
            return "true" if value else "false"
        case str():
            return f"the text {quote(value)}"
        case int() | float():
            return f"the number {quote(value)}"
        case _ if type(value).__module__ == "datetime":
            return "a date or time (put it in quotes)"
        case _:
            return WORDS_BY_TYPE.get(type(value), "nothing")
