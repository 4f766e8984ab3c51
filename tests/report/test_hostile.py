"""Hostile text in every place of a report is harmless wherever the report is shown."""

import io
import json
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from closeout.cli.terminal import Terminal
from closeout.model.report import Report
from closeout.report.as_json import render_json
from closeout.report.console import render_console, render_inventory, render_quiet
from closeout.report.foreign import make_safe
from closeout.report.from_json import load_report
from closeout.report.page import render_page
from closeout.report.redact import redact
from oracles.web_page import WebPage
from strategies.reports import with_texts
from strategies.sample_report import sample_report

pytestmark = pytest.mark.unmeasured

HOSTILE = {
    "script": "<script>alert(1)</script>",
    "attribute": '" onload="alert(1)" x=\'',
    "end of style": "</style></title></td><img src=x onerror=alert(1)>",
    "template": "{{ 7 * 7 }}{% include 'report.css' %}",
    "entity": "&lt;b&gt;&#27;",
    "title": "\x1b]0;owned\x07",
    "clear": "\x1b[2J\x1b[H\x9b31m",
    "markup": "[/red][bold]x[/bold][link=file:///etc]",
    "emoji": ":smile: :warning:",
    "bidi": "serial \u202e4321\u2066\u200f",
    "invisible": "SN\u200b1\u2060\ufeff\u00ad",
    "NUL": "a\0b",
    "lines": "a\nb\r\nPASS\u2028c\u2029d\x85e\x0bf",
    "long": "A" * 10_000,
    "long with spaces": "AB " * 3_400,
    "long hidden": "\u202e" * 3_400,
    "surrogate": "x\udc9bx",
    "marks": "z" + "\u0337" * 500,
    "wide": "漢字" * 1_700,
    "empty": "",
    "spaces": " \t ",
}
SAFE_TAGS = {element.tag for element in WebPage.of(render_page(sample_report())).elements}


def poisoned(text: str) -> Report:
    """The sample with the text after every text in it, and with nothing but the text."""
    return with_texts(sample_report(), lambda _: text)


def behind(text: str) -> Report:
    return with_texts(sample_report(), lambda own: own + text)


def console_text(report: Report, encoding: str, width: int) -> str:
    stream = io.TextIOWrapper(io.BytesIO(), encoding=encoding, write_through=True)
    console = Terminal(stream, width=width, force_terminal=True, color_system="standard")
    render_console(report, console, (report.circumstances.order,))
    render_quiet(report, console, (report.circumstances.order,))
    render_inventory(report.inventory, console)
    written = stream.buffer
    assert isinstance(written, io.BytesIO)
    return written.getvalue().decode(encoding)


def is_harmless(text: str) -> bool:
    """Every character is one that a reader sees, or ends a line."""
    return all(character.isprintable() for character in text.replace("\n", ""))


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE)
@pytest.mark.parametrize("poison", [poisoned, behind])
def test_json_is_harmless_and_keeps_it(text: str, poison: object) -> None:
    report = poison(text)
    raw = render_json(report)
    assert is_harmless(raw.decode())
    json.loads(raw)
    if "\udc9b" not in text:
        assert load_report(raw) == report
    render_json(redact(report))


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE)
@pytest.mark.parametrize("poison", [poisoned, behind])
def test_the_page_is_harmless(text: str, poison: object) -> None:
    markup = render_page(poison(text))
    markup.encode("utf-8")
    assert is_harmless(markup)
    web_page = WebPage.of(markup)
    assert {element.tag for element in web_page.elements} <= SAFE_TAGS
    for element in web_page.elements:
        assert set(element.attributes) <= {
            *("lang", "charset", "name", "content", "http-equiv", "class", "id", "href", "scope"),
            *("aria-labelledby", "aria-hidden", "viewbox", "d", "cx", "cy", "r"),
            *("role", "aria-label", "preserveaspectratio", "x", "width", "height"),
            *("fill", "stroke", "stroke-width", "stroke-linecap", "stroke-linejoin"),
        }
    assert "49" not in "".join(web_page.text) or "7 * 7" not in text


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE)
@pytest.mark.parametrize("poison", [poisoned, behind])
@pytest.mark.parametrize(("encoding", "width"), [("utf-8", 80), ("ascii", 40), ("latin-1", 25)])
def test_the_terminal_is_harmless(text: str, poison: object, encoding: str, width: int) -> None:
    told = console_text(poison(text), encoding, width)
    assert is_harmless(re.sub(r"\x1b\[[0-9;]*m", "", told))


def test_rich_leaves_markup_and_emoji_alone() -> None:
    told = console_text(behind("[/red]:smile:"), "utf-8", 200)
    assert "Lumora[/red]:smile:" in told


def test_the_page_shows_the_text_itself() -> None:
    web_page = WebPage.of(render_page(behind("<script>\x1b")))
    assert r"Lumora<script>\x1b" in web_page.text


def test_a_flood_is_cut_with_a_mark() -> None:
    told = console_text(poisoned("A" * 10_000), "utf-8", 80)
    assert "characters shown]" in told.replace("\n", " ")


@settings(max_examples=30, deadline=None)
@given(st.text(st.characters(), max_size=30))
def test_any_text_is_harmless(text: str) -> None:
    report = behind(text)
    assert is_harmless(render_json(report).decode())
    assert is_harmless(render_page(report))
    assert is_harmless(re.sub(r"\x1b\[[0-9;]*m", "", console_text(report, "ascii", 60)))
    assert is_harmless(make_safe(text))
