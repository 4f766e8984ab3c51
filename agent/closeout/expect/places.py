"""On which line each key of a TOML or JSON file stands.

The parsers of the standard library tell no places. This walks once more through a text that
they have already accepted, so it need not judge anything: it only follows the structure (TOML
1.0.0, https://toml.io/en/v1.0.0; JSON, RFC 8259) and notes where keys and list items begin.
"""

from __future__ import annotations

import json
import re
import tomllib
from bisect import bisect_right
from collections.abc import Callable, Mapping
from typing import Final

from closeout.expect.mistake import KeyPath
from closeout.model.frozen import frozen
from closeout.model.late_pattern import late_pattern

STRING: Final = late_pattern(
    r'"""(?:\\.|[^\\])*?"""(?:"{0,2})'
    r"|'''.*?'''(?:'{0,2})"
    r'|"(?:\\.|[^"\\])*"'
    r"|'[^']*'",
    re.DOTALL,
)
BARE_KEY: Final = late_pattern(r"[A-Za-z0-9_-]+")
SCALAR: Final = late_pattern(r"[^,\]}#\n]*")
BETWEEN: Final = late_pattern(r"(?:[ \t\r\n]|#[^\n]*)*")
"""What may stand between the parts: space, line ends, comments (JSON has none)."""


@frozen
class Places:
    """Line of each key and list item, and the keys that were given again, with that line."""

    lines: Mapping[KeyPath, int]
    repeated: tuple[tuple[KeyPath, int], ...]

    def line(self, path: KeyPath) -> int:
        """The line of a key, or of what it would belong to where it is missing."""
        for length in range(len(path), 0, -1):
            if line := self.lines.get(path[:length]):
                return line
        return 1


def locate_toml(text: str) -> Places:
    """The places in a valid TOML text with plain line ends; a table is at its header.

    Nothing is ever repeated: TOML itself forbids it.
    """
    walk = _Walk(text, separator="=", decode_key=_decode_toml_key)
    walk.toml_document()
    return Places(lines=walk.lines, repeated=())


def locate_json(text: str) -> Places:
    """The places in a valid JSON text."""
    walk = _Walk(text, separator=":", decode_key=_decode_json_key)
    walk.skip()
    walk.value(())
    return Places(lines=walk.lines, repeated=tuple(walk.repeated))


def _decode_toml_key(quoted: str) -> str:
    return next(iter(tomllib.loads(f"{quoted} = 0")))


def _decode_json_key(quoted: str) -> str:
    return str(json.loads(quoted))


class _Walk:
    """A place in the text that moves forward, and the lines noted on the way."""

    def __init__(self, text: str, separator: str, decode_key: Callable[[str], str]) -> None:
        self._text = text
        self._separator = separator
        self._decode_key = decode_key
        self._line_starts = [0, *(found.end() for found in re.finditer("\n", text))]
        self._items: dict[KeyPath, int] = {}
        self._at = 0
        self.lines: dict[KeyPath, int] = {}
        self.repeated: list[tuple[KeyPath, int]] = []

    def toml_document(self) -> None:
        table: KeyPath = ()
        self.skip()
        while self._at < len(self._text):
            if self._next() == "[":
                table = self._header()
            else:
                self._pair(table)
            self.skip()

    def skip(self) -> None:
        self._match(BETWEEN)

    def value(self, path: KeyPath) -> None:
        match self._next():
            case '"' | "'":
                self._match(STRING)
            case "[":
                self._list(path)
            case "{":
                self._table(path)
            case _:
                self._match(SCALAR)

    def _header(self) -> KeyPath:
        start = self._at
        is_list = self._text.startswith("[[", start)
        self._at += 2 if is_list else 1
        *parents, last = self._key()
        self._at += 2 if is_list else 1
        table: KeyPath = ()
        for part in parents:
            table = self._newest((*table, part))
            self._note(table, start)
        table = (*table, last)
        self._note(table, start)
        if is_list:
            self._items[table] = self._items.get(table, 0) + 1
        table = self._newest(table)
        self._note(table, start)
        return table

    def _newest(self, path: KeyPath) -> KeyPath:
        """A header inside a list of tables belongs to its newest table."""
        count = self._items.get(path, 0)
        return (*path, count - 1) if count else path

    def _pair(self, table: KeyPath) -> None:
        start = self._at
        path = table
        *parents, last = self._key()
        for part in parents:
            path = (*path, part)
            self._note(path, start)
        path = (*path, last)
        if path in self.lines:
            self.repeated.append((path, self._line(start)))
        self._note(path, start)
        self._at = self._text.index(self._separator, self._at) + 1
        self.skip()
        self.value(path)

    def _key(self) -> list[str]:
        parts: list[str] = []
        while True:
            self.skip()
            if self._next() in {'"', "'"}:
                parts.append(self._decode_key(self._match(STRING)))
            else:
                parts.append(self._match(BARE_KEY))
            self.skip()
            if self._next() != ".":
                return parts
            self._at += 1

    def _list(self, path: KeyPath) -> None:
        self._at += 1
        self.skip()
        index = 0
        while self._next() != "]":
            item = (*path, index)
            self._note(item, self._at)
            self.value(item)
            index += 1
            self._comma()
        self._at += 1

    def _table(self, path: KeyPath) -> None:
        self._at += 1
        self.skip()
        while self._next() != "}":
            self._pair(path)
            self._comma()
        self._at += 1

    def _comma(self) -> None:
        self.skip()
        if self._next() == ",":
            self._at += 1
            self.skip()

    def _next(self) -> str:
        return self._text[self._at : self._at + 1]

    def _match(self, pattern: re.Pattern[str]) -> str:
        found = pattern.match(self._text, self._at)
        if found is None:
            raise ValueError(f"line {self._line(self._at)} was not accepted by a parser before")
        self._at = found.end()
        return found.group()

    def _note(self, path: KeyPath, offset: int) -> None:
        """The first mention counts; a dotted key or header mentions its parents too."""
        self.lines.setdefault(path, self._line(offset))

    def _line(self, offset: int) -> int:
        return bisect_right(self._line_starts, offset)
