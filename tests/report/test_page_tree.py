"""The page as a tree: nothing of it is lost on the way to paper."""

import re

import pytest
from hypothesis import given, settings

from closeout.model.report import Report
from closeout.report.document_tree import lay_out
from closeout.report.glyphs import fit_fonts
from closeout.report.html import fill
from closeout.report.page import render_page
from closeout.report.page_tree import Element, read_title, read_tree
from oracles.web_page import WebPage
from strategies.reports import reports
from strategies.sample_report import sample_report


def text_of(part: Element | str) -> str:
    return part if isinstance(part, str) else "".join(map(text_of, part.content))


@given(report=reports)
@settings(max_examples=20)
def test_it_has_every_text_of_the_page(report: Report) -> None:
    page = render_page(report)
    body = WebPage.of(page[page.index("<body>") : page.index("</html>")])
    told = text_of(read_tree(page))
    assert "".join(told.split()) == "".join("".join(body.text).split())


def test_it_has_every_element_with_its_classes() -> None:
    page = render_page(sample_report())
    tree = read_tree(page)
    for tag in ("section", "h1", "h2", "h3", "li", "td", "th", "svg", "rect", "br"):
        assert len(list(tree.every(tag))) == len(re.findall(rf"<{tag}[ >/]", page)), tag
    (sheet,) = (each for each in tree.every("section") if "sheet" in each.classes)
    assert sheet.attributes["aria-labelledby"] == "verdict"


def test_spaces_are_those_that_a_browser_shows() -> None:
    (block,) = read_tree("<p>\n  one\n<b> two</b> three \n</p>").content
    assert block == Element(
        tag="p",
        attributes={},
        content=("one ", Element(tag="b", attributes={}, content=(" two",)), " three"),
    )
    (outer,) = read_tree("<div>\n<p>a</p>\n<p>b</p>\n</div>").content
    assert isinstance(outer, Element)
    assert [text_of(part) for part in outer.content] == ["a", "b"]


def test_what_was_escaped_is_itself_again() -> None:
    hostile = "</p><p x=\"'> &amp; &lt;"
    (block,) = read_tree(fill('<p class="{}">{}</p>', hostile, hostile)).content
    assert block == Element(tag="p", attributes={"class": hostile}, content=(hostile,))
    page = fill("<head><title>{}</title></head><body></body>", hostile)
    assert read_title(page) == hostile
    assert read_title("") == ""


@pytest.mark.parametrize("broken", ["<p>", "</p>", "<p></b>", "<b><p></b></p>"])
def test_a_page_that_is_none_of_ours_is_refused(broken: str) -> None:
    with pytest.raises(ValueError, match=r"ends where|too many values"):
        read_tree(broken)


def test_long_words_may_break_and_lose_nothing() -> None:
    word = "".join(map(chr, range(0x41, 0x5A))) * 2
    (laid,) = [lay_out(part) for part in read_tree(f"<p>see {word}, so</p>").content]
    assert isinstance(laid, dict)
    pieces = laid["body"]
    assert "".join(piece for piece in pieces if isinstance(piece, str)) == f"see {word}, so"
    assert len(pieces) > 10


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("Å ß Ж Ω ✓", "Å ß Ж Ω ✓"),
        ("漢", "\\u6f22"),
        ("\U0001f600", "\\U0001f600"),
        ("שלום", "\\u05e9\\u05dc\\u05d5\\u05dd"),
        ("e\u0301", "e\\u0301"),
        ("\\u6f22", "\\u6f22"),
    ],
)
def test_what_the_fonts_have_not_is_spelled_out(text: str, shown: str) -> None:
    assert fit_fonts(text) == shown
