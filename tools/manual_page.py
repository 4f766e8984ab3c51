"""Markdown for the manual: pages and tables."""

from collections.abc import Iterable, Sequence
from typing import Final

NOTICE: Final = "<!-- Made by `make manual`; change the code or the catalogue instead. -->"


def page(title: str, *parts: str) -> str:
    """A whole page: title, notice, and its parts with a blank line between."""
    return "\n\n".join([f"# {title}", NOTICE, *parts]) + "\n"


def table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table; cells may hold Markdown, but no line break and no bar of their own."""
    lines = [heads, ["---"] * len(heads), *rows]
    return "\n".join(f"| {' | '.join(_cell(text) for text in line)} |" for line in lines)


def code(text: str) -> str:
    """Text as it is typed or read."""
    return f"`{text}`" if text else ""


def _cell(text: str) -> str:
    return " ".join(text.split()).replace("|", "\\|")
