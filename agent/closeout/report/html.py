"""Pieces of HTML, and texts put into them: every text is made safe and escaped on its way in.

Only what is `Html` already goes in as it is, and only `fill` and `joined` make it out of a literal
of our own, so that no part of the page can forget to escape.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cache, lru_cache
from typing import Final, LiteralString

from closeout.model.late_pattern import late_pattern
from closeout.report.foreign import make_safe

ESCAPES: Final = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&#34;", "'": "&#39;"})
ESCAPED: Final = late_pattern("[&<>\"']")
GAP: Final = "{}"


class Html(str):
    """Text that is HTML."""

    __slots__ = ()


NOTHING: Final = Html()


def fill(template: LiteralString, *values: object) -> Html:
    """The template with a value in each `{}`, escaped unless it is HTML.

    Raises ValueError where there are more gaps or values than the other.
    """
    texts = _texts(template)
    if len(values) + 1 != len(texts):
        raise ValueError(f"{len(values)} values for the gaps of {template!r}")
    pieces = [*texts, *texts[1:]]  # as many as there will be
    pieces[::2] = texts
    pieces[1::2] = [one if isinstance(one, Html) else _escape(str(one)) for one in values]
    return Html("".join(pieces))


@cache
def _texts(template: LiteralString) -> Sequence[str]:
    """What stands between the gaps."""
    return tuple(template.split(GAP))


def joined(pieces: Iterable[Html]) -> Html:
    """The pieces one after the other."""
    return Html("".join(pieces))


def escape(value: object) -> Html:
    """The text of a value, made safe; HTML as it is."""
    if isinstance(value, Html):
        return value
    return _escape(str(value))


@lru_cache(maxsize=2048)
def _escape(text: str) -> Html:
    """Kept, since a page says few texts often: states, names, labels."""
    safe = make_safe(text)
    return Html(safe.translate(ESCAPES) if ESCAPED.search(safe) else safe)
