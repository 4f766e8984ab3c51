"""The page as a tree of its elements, for another form of it than HTML.

What typesets the report takes this tree, so that paper and page cannot come to say different
things: what is said, and how much of it fits, is decided once. It reads our own pages alone; every
text in them was made safe on its way in.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from html.parser import HTMLParser
from typing import Final

from closeout.model.frozen import frozen
from closeout.model.late_pattern import late_pattern

INLINE: Final = frozenset({"b", "span", "code", "a"})
VOID: Final = frozenset({"meta", "br", "col", "circle", "path", "rect"})
GAPS: Final = late_pattern(r"[ \n]+")


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


class _Builder(HTMLParser):
    """Puts every element into the one that is open."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.open = [_Open(tag="", attributes={}, content=[])]

    def handle_starttag(  # type: ignore[explicit-override]  # typing has it from 3.12
        self, tag: str, attrs: list[tuple[str, str | None]]
    ) -> None:
        element = _Open(
            tag=tag, attributes={name: value or "" for name, value in attrs}, content=[]
        )
        self.open.append(element)
        if tag in VOID:
            self.handle_endtag(tag)

    def handle_startendtag(  # type: ignore[explicit-override]  # as above
        self, tag: str, attrs: list[tuple[str, str | None]]
    ) -> None:
        self.handle_starttag(tag, attrs)

    def handle_endtag(self, tag: str) -> None:  # type: ignore[explicit-override]  # as above
        element = self.open.pop()
        if element.tag != tag:
            raise ValueError(f"{tag} ends where {element.tag} is open")
        self.open[-1].content.append(element.closed())

    def handle_data(self, data: str) -> None:  # type: ignore[explicit-override]  # as above
        self.open[-1].content.append(GAPS.sub(" ", data))


def read_tree(page: str) -> Element:
    """The root of one of our own pages, its spaces as a browser shows them."""
    builder = _Builder()
    builder.feed(page)
    builder.close()
    (root,) = builder.open
    return root.closed()


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
