"""The page as a tree of its elements, for another form of it than HTML.

What typesets the report takes this tree, so that paper and page cannot come to say different
things: what is said, and how much of it fits, is decided once. It reads our own pages alone; every
text in them was made safe on its way in.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from html import unescape
from typing import Final

from closeout.model.frozen import frozen
from closeout.model.late_pattern import late_pattern

INLINE: Final = frozenset({"b", "span", "code", "a"})
VOID: Final = frozenset({"br", "col"})
GAPS: Final = late_pattern(r"[ \n]+")
TOKENS: Final = late_pattern(r"(<[^>]*>)")
"""Tags; our pages escape `<` and `>` wherever else they stand."""
ATTRIBUTES: Final = late_pattern(r'([A-Za-z-]+)="([^"]*)"')
TITLE: Final = late_pattern(r"<title>([^<]*)</title>")


@frozen
class Element:
    """An element with its attributes, and what stands in it: elements and texts."""

    tag: str
    attributes: Mapping[str, str]
    content: tuple[Element | str, ...]

    @property
    def classes(self) -> tuple[str, ...]:
        """The words of its class."""
        return tuple(self.attributes.get("class", "").split())

    def every(self, tag: str) -> Iterator[Element]:
        """The elements of this tag in it, at any depth."""
        for part in self.content:
            if isinstance(part, Element):
                if part.tag == tag:
                    yield part
                yield from part.every(tag)


@frozen
class _Open:
    """An element of which the end was not seen yet."""

    tag: str
    attributes: Mapping[str, str]
    content: list[Element | str]

    def closed(self) -> Element:
        content = tuple(_without_gaps(self.tag, self.content))
        return Element(tag=self.tag, attributes=self.attributes, content=content)


def read_title(page: str) -> str:
    """What a page says it is, in its head."""
    found = TITLE.search(page)
    return unescape(found[1]) if found else ""


def read_tree(page: str) -> Element:
    """The root of one of our own pages, or of a piece, its spaces as a browser shows them.

    The head is left out. Raises ValueError where an element ends that is not open.
    """
    body = page.rpartition("</head>")[2].partition("</html>")[0]
    waiting = [_Open(tag="", attributes={}, content=[])]
    for token in filter(None, TOKENS.split(body)):
        if not token.startswith("<"):
            waiting[-1].content.append(unescape(GAPS.sub(" ", token)))
        elif token.startswith("</"):
            _close(waiting, token[2:-1])
        else:
            tag, _, rest = token[1:-1].rstrip("/").partition(" ")
            attributes = {name: unescape(value) for name, value in ATTRIBUTES.findall(rest)}
            waiting.append(_Open(tag=tag, attributes=attributes, content=[]))
            if token.endswith("/>") or tag in VOID:
                _close(waiting, tag)
    (root,) = waiting
    return root.closed()


def _close(waiting: list[_Open], tag: str) -> None:
    """Puts the innermost element into the one around it."""
    element = waiting.pop()
    if element.tag != tag or not waiting:
        raise ValueError(f"{tag} ends where {element.tag} is open")
    waiting[-1].content.append(element.closed())


def _without_gaps(tag: str, content: Sequence[Element | str]) -> Iterator[Element | str]:
    """What stands in an element, without the spaces at the edges of blocks."""
    for place, part in enumerate(content):
        text = part
        if isinstance(text, str) and tag not in INLINE:
            text = text.lstrip(" ") if place == 0 or _is_block(content[place - 1]) else text
            at_end = place == len(content) - 1 or _is_block(content[place + 1])
            text = text.rstrip(" ") if at_end else text
        if text:
            yield text


def _is_block(part: Element | str) -> bool:
    return isinstance(part, Element) and part.tag not in INLINE
