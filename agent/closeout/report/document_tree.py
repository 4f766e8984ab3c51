"""Elements of a page as plain records for the typesetter, their texts fitted to its fonts.

A long word may be broken anywhere, as on the page; nothing is put into its text for that.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from typing import Final
from xml.sax.saxutils import quoteattr

from closeout.report.glyphs import fit_fonts
from closeout.report.page_tree import Element

LONGEST_WORD: Final = 18
PIECE: Final = 6
LONG: Final = re.compile(rf"[^ ]{{{LONGEST_WORD},}}")
PART: Final = re.compile(r"[^-_/.:,;=&]+[-_/.:,;=&]*|[-_/.:,;=&]+")
BREAK: Final = {"tag": "wbr", "looks": list[str](), "body": list[object]()}
UNDATED: Final = {"year": 1970, "month": 1, "day": 1}
DAY: Final = re.compile(r"(\d{4})-(\d\d)-(\d\d)")


def lay_out(part: Element | str) -> object:
    """An element with all that is in it."""
    if isinstance(part, str):
        return fit_fonts(part)
    if part.tag == "svg":
        return _picture(part)
    return {"tag": part.tag, "looks": list(part.classes), "body": lay_out_inline(part)}


def lay_out_inline(element: Element) -> list[object]:
    """What stands in an element."""
    laid: list[object] = []
    for part in element.content:
        if isinstance(part, str):
            laid += _pieces(fit_fonts(part))
        else:
            laid.append(lay_out(part))
    return laid


def date_of(text: str) -> object:
    """Day of a time as the report has it; the first day of 1970 for what is no time."""
    found = DAY.match(text)
    try:
        day = date(*map(int, found.groups())) if found else None
    except ValueError:
        day = None
    return {"year": day.year, "month": day.month, "day": day.day} if day else UNDATED


def _pieces(text: str) -> Iterator[object]:
    """The text, its long words in pieces with a place to break between them."""
    begin = 0
    for word in LONG.finditer(text):
        for at in _places(word[0]):
            yield text[begin : word.start() + at]
            yield BREAK
            begin = word.start() + at
    if text[begin:]:
        yield text[begin:]


def _places(word: str) -> Iterator[int]:
    """Where a long word may be broken: behind its signs, and anywhere in what is still long."""
    for part in PART.finditer(word):
        if part.start():
            yield part.start()
        if len(part[0]) >= LONGEST_WORD:
            yield from range(part.start() + PIECE, part.end(), PIECE)


def _picture(drawn: Element) -> object:
    """A drawing of the page as an image; it has a size where it must be true to scale."""
    size = {
        name: float(drawn.attributes.get(name, "0").removesuffix("mm"))
        for name in ("width", "height")
    }
    return {
        "tag": "svg",
        "looks": list(drawn.classes),
        "body": [],
        "svg": _as_svg(drawn, ' xmlns="http://www.w3.org/2000/svg"'),
        "alt": fit_fonts(drawn.attributes.get("aria-label", "")),
        **size,
    }


def _as_svg(element: Element, namespace: str = "") -> str:
    attributes = "".join(
        f" {name}={quoteattr(value)}"
        for name, value in element.attributes.items()
        if name not in {"class", "role", "aria-label", "aria-hidden"}
    )
    inner = "".join(_as_svg(part) for part in element.content if isinstance(part, Element))
    return f"<{element.tag}{namespace}{attributes}>{inner}</{element.tag}>"
