"""Bytes of a file that people write, to a tree of values with the line of each: TOML or JSON.

Files come from strangers too, so size, depth and the shape of lines have limits, checked before
a parser could be led into a long walk.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from functools import cached_property
from typing import TYPE_CHECKING, Final, TypeGuard

from closeout.expect.mistake import KeyPath, Mistake, Mistakes, quote, show_path, whole_file
from closeout.expect.parsed import parsed_before
from closeout.model.late_pattern import late_pattern

if TYPE_CHECKING:
    from closeout.expect.places import Places

LARGEST_FILE: Final = 1 << 20
DEEPEST: Final = 8
LONGEST_MESSAGE: Final = 200
MOST_DOTS: Final = 60
"""On one line of TOML, and on one line outside text and comments no more than `DEEPEST`. Each dot
of a dotted key opens a table, and the standard parser's work grows with the square of their
number."""

TEXT_OR_COMMENT: Final = late_pattern(r'"(?:\\.|[^"\\])*"|\'[^\']*\'|#.*')
TOML_PLACE: Final = late_pattern(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")


class Document:
    """A well-formed file: its values, and where they stand."""

    def __init__(self, name: str, tree: Mapping[str, object], text: str) -> None:
        self.name = name
        self.tree = tree
        self._text = text

    @cached_property
    def places(self) -> Places:
        """Where the keys stand; looked up at the first mistake, so seldom."""
        from closeout.expect.places import locate_json, locate_toml  # noqa: PLC0415

        return (locate_json if _is_json(self._text) else locate_toml)(self._text)

    def mistake(self, path: KeyPath, key: str, wrong: str) -> Mistake:
        """A mistake at the line of a key, or of the table that should hold it."""
        line = self.places.line(path)
        return Mistake(file=self.name, line=line, column=0, key=key, wrong=wrong)


def read_document(name: str, raw: bytes) -> Document | Mistakes:
    """The document in `raw`; JSON where it opens with a brace, as no TOML can, TOML otherwise.

    `name` is what people call the file. Mistakes of the whole file, of syntax, and keys given
    twice are all that is told here.
    """
    text = _decode_text(name, raw)
    if isinstance(text, Mistakes):
        return text
    try:
        if (tree := parsed_before(raw)) is not None:
            return Document(name, tree, text)
        if _is_json(text):
            return _read_json(name, text)
        return _read_toml(name, text)
    except RecursionError:
        return whole_file(name, f"nested too deeply; allowed: {DEEPEST} levels")


def is_table(value: object) -> TypeGuard[Mapping[str, object]]:
    """A table: parsers give only text as keys."""
    return isinstance(value, dict)


def is_list(value: object) -> TypeGuard[list[object]]:
    """A list of anything."""
    return isinstance(value, list)


def _is_json(text: str) -> bool:
    return text.lstrip().startswith("{")


def _decode_text(name: str, raw: bytes) -> str | Mistakes:
    if len(raw) > LARGEST_FILE:
        return whole_file(name, f"larger than {LARGEST_FILE} bytes, which is the limit")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as failure:
        return whole_file(name, f"not UTF-8 text: byte {failure.start} does not fit")
    text = text.replace("\r\n", "\n")
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        return _one(name, line, "a NUL character; this is no text file")
    return text


def _read_toml(name: str, text: str) -> Document | Mistakes:
    from tomllib import loads  # noqa: PLC0415 - what is shipped was parsed before

    if dotted := _line_with_many_dots(text):
        return _one(name, dotted, "too many dots on one line")
    try:
        tree = loads(text)
    except ValueError as failure:
        return _toml_syntax(name, text, str(failure))
    return _checked(name, tree) or Document(name, tree, text)


def _line_with_many_dots(text: str) -> int:
    """The first line that could cost the parser too much, from 1; 0 where there is none."""
    for number, line in enumerate(text.split("\n"), start=1):
        dots = line.count(".")
        if dots > MOST_DOTS or (
            dots > DEEPEST and TEXT_OR_COMMENT.sub("", line).count(".") > DEEPEST
        ):
            return number
    return 0


def _toml_syntax(name: str, text: str, message: str) -> Mistakes:
    found = TOML_PLACE.search(message)
    if found is None:
        return whole_file(name, f"not valid TOML: {message[:LONGEST_MESSAGE]}")
    line = int(found[1]) if found[1] else text.rstrip("\n").count("\n") + 1
    wrong = f"not valid TOML: {message[: found.start()][:LONGEST_MESSAGE]}"
    if not found[1]:
        wrong += ", and the file ends here"
    return _one(name, line, wrong, int(found[2] or 0))


def _read_json(name: str, text: str) -> Document | Mistakes:
    try:
        tree: dict[str, object] = json.loads(text)
    except json.JSONDecodeError as failure:
        return _one(name, failure.lineno, f"not valid JSON: {failure.msg}", failure.colno)
    except ValueError as failure:
        return whole_file(name, f"not valid JSON: {failure}")
    if wrong := _checked(name, tree):
        return wrong
    document = Document(name, tree, text)
    return _repeated(document) or document


def _repeated(document: Document) -> Mistakes | None:
    again = tuple(
        Mistake(
            file=document.name,
            line=line,
            column=0,
            key=show_path(path),
            wrong=f"given a second time; the first is on line {document.places.line(path)}",
        )
        for path, line in document.places.repeated
    )
    return Mistakes(found=again) if again else None


def _checked(name: str, tree: Mapping[str, object]) -> Mistakes | None:
    """What no later step could cope with: depth, and text that no file could hold."""
    for depth, value in _walk(tree):
        if depth > DEEPEST:
            return whole_file(name, f"nested too deeply; allowed: {DEEPEST} levels")
        if isinstance(value, str) and not _is_encodable(value):
            return whole_file(name, f"half of a surrogate pair in {quote(value)}")
    return None


def _walk(tree: Mapping[str, object]) -> Iterator[tuple[int, object]]:
    waiting: list[tuple[int, object]] = [(0, tree)]
    while waiting:
        depth, value = waiting.pop()
        yield depth, value
        if is_table(value):
            waiting.extend((depth + 1, key) for key in value)
            waiting.extend((depth + 1, inner) for inner in value.values())
        elif is_list(value):
            waiting.extend((depth + 1, inner) for inner in value)


def _is_encodable(text: str) -> bool:
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        return False
    return True


def _one(name: str, line: int, wrong: str, column: int = 0) -> Mistakes:
    return Mistakes(found=(Mistake(file=name, line=line, column=column, key="", wrong=wrong),))
