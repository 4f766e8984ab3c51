"""A web page taken apart by the standard library's parser, for tests to ask about."""

from dataclasses import dataclass, field
from html.parser import HTMLParser

VOID = frozenset({"meta", "br", "col", "circle", "line", "path", "rect"})
"""Elements without an end; what a drawing is made of ends itself."""


@dataclass(frozen=True, slots=True)
class Element:
    """A tag with its attributes, and the tags that it stands in."""

    tag: str
    attributes: dict[str, str]
    inside: tuple[str, ...]


@dataclass
class WebPage(HTMLParser):
    """Elements in order, and all text outside of the style sheet; tags must be balanced."""

    elements: list[Element] = field(default_factory=list)
    text: list[str] = field(default_factory=list)
    style: list[str] = field(default_factory=list)
    open_tags: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        super().__init__(convert_charrefs=True)

    @classmethod
    def of(cls, markup: str) -> "WebPage":
        """The page in the markup."""
        page = cls()
        page.feed(markup)
        page.close()
        assert not page.open_tags, f"never closed: {page.open_tags}"
        return page

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """An element begins; attributes are given once."""
        names = [name for name, _ in attrs]
        assert len(names) == len(set(names)), f"an attribute twice in {tag}"
        attributes = {name: value or "" for name, value in attrs}
        self.elements.append(Element(tag, attributes, tuple(self.open_tags)))
        if tag not in VOID:
            self.open_tags.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """An element that ends itself."""
        assert tag in VOID, f"{tag} cannot end itself"
        self.handle_starttag(tag, attrs)

    def handle_endtag(self, tag: str) -> None:
        """The last open element ends."""
        assert self.open_tags, f"</{tag}> ends nothing"
        assert self.open_tags.pop() == tag, f"</{tag}> ends another element"

    def handle_data(self, data: str) -> None:
        """Text of the page, or of its style sheet."""
        (self.style if self.open_tags[-1:] == ["style"] else self.text).append(data)

    def tags(self, *names: str) -> list[Element]:
        """The elements of these names, in order."""
        return [element for element in self.elements if element.tag in names]
