"""What is wrong in a file that people write, each mistake on one line with its place."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from typing import Final, TypeAlias

from closeout.model.frozen import frozen

KeyPath: TypeAlias = tuple[str | int, ...]
"""Keys and list positions that lead to a value; positions count from 0."""

LONGEST_QUOTE: Final = 60
LARGEST_INTEGER_BITS: Final = 128
CLOSE_ENOUGH: Final = 0.6


@frozen
class Mistake:
    """One mistake. `line` and `column` count from 1, and are 0 where there is no such place."""

    file: str
    line: int
    column: int
    key: str
    wrong: str

    def show(self) -> str:
        """`FILE:LINE: KEY: WHAT IS WRONG`, always one line of printable text."""
        place = quote_name(self.file)
        for number in (self.line, self.column):
            if number:
                place += f":{number}"
        return ": ".join(part for part in (place, self.key, self.wrong) if part)


@frozen
class Mistakes:
    """All mistakes of one file or several, at least one, in the order of their places."""

    found: tuple[Mistake, ...]

    def show(self) -> str:
        """One line a mistake."""
        return "\n".join(mistake.show() for mistake in self.found)


def whole_file(file: str, wrong: str) -> Mistakes:
    """The mistake of a file that has no place inside it."""
    return Mistakes(found=(Mistake(file=file, line=0, column=0, key="", wrong=wrong),))


def quote(value: object) -> str:
    """A value as text that is harmless on any terminal, cut where it is long."""
    if isinstance(value, int) and value.bit_length() > LARGEST_INTEGER_BITS:
        return f"one of {value.bit_length()} bits"
    shown = repr(value[: LONGEST_QUOTE + 1] if isinstance(value, str) else value)
    return shown if len(shown) <= LONGEST_QUOTE else f"{shown[:LONGEST_QUOTE]}..."


def quote_name(name: str) -> str:
    """A file name or key as it is where it is printable, quoted where it is not."""
    return name if name.isprintable() else repr(name)


def show_path(path: KeyPath) -> str:
    """`demand[2].where.status`; list positions count from 1, as people count."""
    shown = ""
    for part in path:
        if isinstance(part, int):
            shown += f"[{part + 1}]"
        else:
            name = part if part.replace("_", "").replace("-", "").isalnum() else quote(part)
            shown += f".{name[:LONGEST_QUOTE]}" if shown else name[:LONGEST_QUOTE]
    return shown


def nearest(word: str, allowed: Collection[str]) -> str:
    """`; did you mean ...?` with the nearest spelling, or nothing where none is near."""
    if len(word) > LONGEST_QUOTE:
        return ""
    plain = word.casefold().replace("-", "_").replace(" ", "_")
    spellings = {name.casefold().replace("-", "_"): name for name in allowed}
    from difflib import get_close_matches  # noqa: PLC0415 - only where something is wrong

    close = get_close_matches(plain, spellings, n=1, cutoff=CLOSE_ENOUGH)
    return f"; did you mean {spellings[close[0]]}?" if close else ""


def list_words(words: Iterable[str]) -> str:
    """The allowed words in their order, set apart by commas."""
    return ", ".join(words)
