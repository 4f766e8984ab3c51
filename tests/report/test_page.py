"""The page: sound HTML, readable by anybody, and complete to the last state of a reading."""

import re
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings

from closeout.model.attribute import attributes_of
from closeout.model.finding import Concession, Outcome
from closeout.model.inventory import Inventory
from closeout.model.reading import state_of
from closeout.model.report import Report
from closeout.model.verdict import Verdict
from closeout.report import page
from closeout.report.foreign import make_safe
from closeout.report.page import render_page
from closeout.report.page_proof import show_duration
from closeout.report.redact import redact
from closeout.report.story import headline
from oracles.web_page import WebPage
from strategies.reports import reports
from strategies.sample_report import finding, sample_report

CSS = page.STYLE

KNOWN_TAGS = {
    *("html", "head", "meta", "title", "style", "body", "header", "main", "footer", "section"),
    *("nav", "div", "p", "h1", "h2", "h3", "ul", "ol", "li", "dl", "dt", "dd", "table"),
    *("caption", "colgroup", "col", "thead", "tbody", "tr", "th", "td", "span", "b", "code"),
    *("br", "a", "svg", "circle", "path", "rect"),
}


def few(report: Report) -> list[Report]:
    """The report under every verdict, with nothing in it, and redacted."""
    bare = replace(
        report, inventory=Inventory(sections=()), findings=(), reasons=(), first_steps=(), words={}
    )
    return [*(replace(report, verdict=verdict) for verdict in Verdict), bare, redact(report)]


PAGES = [WebPage.of(render_page(report)) for report in few(sample_report())]


def words_of(web_page: WebPage) -> str:
    return " ".join(" ".join(web_page.text).split())


def test_it_is_as_it_was(is_golden: Callable[[str, str], None]) -> None:
    is_golden("page.html", render_page(sample_report()))


@pytest.mark.parametrize("web_page", PAGES)
def test_it_runs_nothing_and_loads_nothing(web_page: WebPage) -> None:
    assert {element.tag for element in web_page.elements} <= KNOWN_TAGS
    for element in web_page.elements:
        assert not [name for name in element.attributes if name.startswith("on")]
        assert "src" not in element.attributes
        assert element.attributes.get("href", "#").startswith("#")
        assert "style" not in element.attributes
    style = "".join(web_page.style)
    assert style
    assert not re.search(r"url\(|@import|https?:|expression", style)


@pytest.mark.parametrize("web_page", PAGES)
def test_headings_skip_no_level(web_page: WebPage) -> None:
    levels = [int(element.tag[1]) for element in web_page.tags("h1", "h2", "h3")]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))


@pytest.mark.parametrize("web_page", PAGES)
def test_every_table_has_headers_with_scope(web_page: WebPage) -> None:
    assert len(web_page.tags("table")) == len(web_page.tags("thead")) > 0
    for header in web_page.tags("th"):
        in_head = "thead" in header.inside
        assert header.attributes["scope"] == ("col" if in_head else "row")
    assert not [cell for cell in web_page.tags("td") if "thead" in cell.inside]


@pytest.mark.parametrize("web_page", PAGES)
def test_links_and_labels_lead_somewhere(web_page: WebPage) -> None:
    names = [
        element.attributes["id"] for element in web_page.elements if "id" in element.attributes
    ]
    assert len(names) == len(set(names))
    for element in web_page.elements:
        assert element.attributes.get("href", f"#{names[0]}")[1:] in names
        assert element.attributes.get("aria-labelledby", names[0]) in names


def test_language_title_and_pictures() -> None:
    for web_page, report in zip(PAGES, few(sample_report()), strict=True):
        assert web_page.tags("html")[0].attributes == {"lang": "en"}
        assert "WO-20417, attempt 2" in words_of(web_page)
        assert headline(report) in web_page.text
        for svg in web_page.tags("svg"):
            is_code = svg.attributes.get("role") == "img" and svg.attributes["aria-label"]
            assert is_code or svg.attributes["aria-hidden"] == "true"


@settings(max_examples=40, deadline=None)
@given(reports)
def test_every_reading_and_finding_is_there_with_its_state(report: Report) -> None:
    shown = words_of(WebPage.of(render_page(report)))
    for section in report.inventory.sections:
        for device in section.devices:
            for name in attributes_of(type(device)):
                assert f"{name} {state_of(getattr(device, name))}" in shown
    for part in report.findings:
        for text in (part.rule, part.expected, part.found, part.origin, part.label):
            assert " ".join(make_safe(text).split()) in shown


def test_page_one_tells_the_story() -> None:
    markup = render_page(sample_report())
    sheet = words_of(
        WebPage.of(markup[: markup.index("</section>")] + "</section></main></body></html>")
    )
    circumstances = sample_report().circumstances
    for text in (
        "Hold",
        *sample_report().reasons,
        *(step.action for step in sample_report().first_steps),
        "Caution: Take the pack off the board",
        "Conceded by L. Arden: new pack on order, customer informed",
        "Answered yes by T. Okar: seen in the firmware's list",
        "4c4c4544-0031-3010-8035-b7c04f4e3032",
        "filler Default string",
        circumstances.medium,
        circumstances.kernel,
        circumstances.agent,
        circumstances.profile.digest,
        circumstances.evidence_digest,
        "2025-03-14T09:12:44Z (network) to 2025-03-14T09:13:02Z (network)",
        "must 2 3 0 1 0",
    ):
        assert text in sheet


def test_what_page_one_has_no_room_for_is_in_the_annex() -> None:
    many = tuple(
        finding(
            "system.serial",
            Outcome.FAIL,
            concession=Concession(by="L. Arden", reason=f"{number} " + "long " * 80 + "end"),
        )
        for number in range(9)
    )
    report = replace(
        sample_report(), reasons=tuple(f"reason {number}" for number in range(9)), findings=many
    )
    shown = words_of(WebPage.of(render_page(report)))
    assert "and 6 more: reasons in full stand in the annex" in shown
    assert "and 6 more: all in full stand in the annex" in shown
    alone = words_of(WebPage.of(render_page(replace(report, findings=()))))
    assert "and 3 more: reasons in full stand in the annex" in alone
    for number in range(9):
        assert f"reason {number}" in shown
        assert f"Conceded by L. Arden: {number} " + "long " * 80 + "end." in shown


def test_a_release_with_concessions_says_so() -> None:
    report = replace(sample_report(), verdict=Verdict.RELEASE)
    assert "Release with concession" in PAGES[0].text
    plain = replace(report, findings=report.findings[-1:])
    assert "Release with concession" not in WebPage.of(render_page(plain)).text


def test_a_redacted_page_says_so() -> None:
    assert "redacted" in words_of(PAGES[-1])
    assert "redacted" not in words_of(PAGES[0])


def test_a_finding_without_words_or_section_is_shown() -> None:
    report = replace(sample_report(), findings=(finding("holodeck.mood", Outcome.FAIL),))
    shown = words_of(WebPage.of(render_page(report)))
    assert "holodeck.mood" in shown
    assert "holodeck could not be listed" not in shown


def test_a_duration_is_cut() -> None:
    assert show_duration(22_499) == "22.4 ms"
    assert show_duration(99) == "0.0 ms"


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.2 defines it."""
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio as WCAG 2.2 defines it."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_contrast_is_counted_as_wcag_does() -> None:
    assert round(contrast("#000000", "#ffffff"), 2) == 21
    assert round(contrast("#777777", "#ffffff"), 2) == 4.48  # the well-known grey just below AA


@pytest.mark.parametrize("scheme", [0, 1], ids=["light", "dark"])
def test_text_stands_out(scheme: int) -> None:
    root = re.findall(r":root \{(.*?)\}", CSS.read_text(), re.DOTALL)[scheme]
    colours = dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6})", root))
    inks = ("ink", "muted", "release", "hold", "undecided")
    pairs = [(ink, "paper") for ink in inks]
    pairs += [(ink, f"{verdict}-soft") for verdict in inks[2:] for ink in ("ink", verdict)]
    for ink, paper in pairs:
        assert contrast(colours[ink], colours[paper]) >= 4.5, (ink, paper)
