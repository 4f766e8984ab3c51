"""Pieces of ACPI source language: quoted text, and methods whose value is live."""

from collections.abc import Iterable
from textwrap import dedent, indent
from typing import Final

from notebook.control_page import Word

DEPTH: Final = "    "


def quoted(text: str) -> str:
    """The text as a string of ASL; ValueError where ASL has no letter for it.

    ACPI strings are ASCII without NUL (ACPI 6.5, chapter 19).
    """
    if not all(" " <= letter <= "~" for letter in text):
        raise ValueError(f"an ACPI string is printable ASCII, and {text!r} is not")
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'


def live(word: Word, built_in: int) -> str:
    """What a method returns: the control page's word, and without a page what it was built with."""
    return f"If (LIVE ()) {{ Return ({word.name}) }} Return ({built_in})"


def tidy(source: str) -> str:
    """A template's text without the indentation of the Python around it."""
    return dedent(source).strip()


def inside(block: str, parts: Iterable[str]) -> str:
    """The parts in braces behind the words that open the block."""
    return "\n".join((block, "{", *(indent(part, DEPTH) for part in parts), "}"))
