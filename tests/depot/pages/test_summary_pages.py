"""A summary on console, page, CSV and JSON: the same figures, hostile names harmless."""

import csv
import io
import json
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.cli.plain import Plain
from closeout.depot.csv_file import FORMULA
from closeout.depot.pages.csv_text import render_csv
from closeout.depot.pages.hiding import hide_units
from closeout.depot.pages.summary_console import render_summary
from closeout.depot.pages.summary_page import render_summary_page
from closeout.depot.pages.summary_tables import render_summary_csv, tree_of_summary
from closeout.depot.pages.telling import (
    tell_chance,
    tell_day,
    tell_returns,
    tell_share,
    tell_shortly,
    tell_unrun,
)
from closeout.depot.statistics.wilson import share_of
from closeout.depot.summary import MOST_RETURNED, Often, Returned, Summary, Tally
from oracles.web_page import WebPage
from strategies.depot_summary import summary_of

HOSTILE = (
    "<script>alert(1)</script>",
    '" onload="alert(1)" x=\'',
    "</title></style><img src=x>",
    "\x1b]0;owned\x07",
    "=cmd|' /C calc'!A0",
    "@SUM(1+1)",
    "\t=1+1",
    "\r=1+1",
    "+1",
    "-1",
    "a;=1+1",
    "\u202e4321",
)


def console_of(summary: Summary) -> str:
    stream = io.TextIOWrapper(io.BytesIO(), encoding="utf-8", newline="")
    render_summary(summary, Plain(stream, 100))
    stream.seek(0)
    return stream.read()


@pytest.mark.parametrize("text", HOSTILE)
def test_a_hostile_name_is_text_on_the_page(text: str) -> None:
    page = WebPage.of(render_summary_page(summary_of(text)))
    usual = WebPage.of(render_summary_page(summary_of("usual")))
    assert [e.tag for e in page.elements] == [e.tag for e in usual.elements]
    for element, other in zip(page.elements, usual.elements, strict=True):
        assert element.attributes.keys() == other.attributes.keys()
    assert not {e.tag for e in page.elements} & {"script", "link", "img", "a", "iframe"}


@pytest.mark.parametrize("text", HOSTILE)
def test_a_hostile_name_is_a_line_on_the_console(text: str) -> None:
    shown = console_of(summary_of(text))
    assert all(letter == "\n" or letter.isprintable() for letter in shown)
    assert "\u202e" not in shown


@pytest.mark.parametrize("text", HOSTILE)
def test_a_hostile_name_is_no_formula_in_a_spreadsheet(text: str) -> None:
    raw = render_summary_csv(summary_of(text)).decode("utf-8")
    rows = list(csv.reader(io.StringIO(raw)))
    assert {len(row) for row in rows} == {7}
    texts = [cell for row in rows for cell in row[:4]]
    assert not [cell for cell in texts if cell.startswith(FORMULA)]


@given(st.text())
def test_any_cell_comes_back_as_one_harmless_cell(text: str) -> None:
    raw = render_csv(("a",), [(text,)]).decode("utf-8")
    (_, (cell,)) = list(csv.reader(io.StringIO(raw)))
    assert not cell.startswith(FORMULA)
    assert all(letter.isprintable() for letter in cell)


def test_numbers_stay_numbers_in_csv() -> None:
    assert render_csv(("a", "b"), [(-3, 0.5)]) == b'"a","b"\r\n-3,0.5\r\n'


def test_each_chart_has_title_text_and_a_table() -> None:
    page = WebPage.of(render_summary_page(summary_of("usual")))
    charts = [e for e in page.elements if e.tag == "svg"]
    sections = [e for e in page.elements if e.tag == "section"]
    assert len(charts) == 7
    assert len(sections) == 9
    assert all(chart.attributes["role"] == "img" for chart in charts)
    for tag in ("title", "desc"):
        assert len([e for e in page.elements if e.tag == tag and "svg" in e.inside]) == 7
    assert len([e for e in page.elements if e.tag == "table"]) == 13


def test_all_of_nothing_is_said_as_such() -> None:
    empty = Summary(
        **{
            **summary_of("x").__dict__,
            "whole": Tally(name="all", first=share_of(0, 0), final=share_of(0, 0)),
            "by": {"model": (), "repair": (), "station": (), "week": ()},
            "returns": share_of(0, 0),
            "returned": (),
            "stale": (),
            "unrun": {},
            "attempts": 0,
        }
    )
    assert "First-pass yield: -" in console_of(empty)
    assert WebPage.of(render_summary_page(empty))
    assert "<h1>Depot, nothing judged</h1>" in render_summary_page(empty)
    assert json.dumps(tree_of_summary(empty))
    assert render_summary_csv(empty)


def test_long_lists_are_cut_on_the_console_and_on_the_page() -> None:
    many = tuple(Often(name=f"rule {n:03}", orders=200 - n) for n in range(100))
    whole = Tally(name="all", first=share_of(7, 10), final=share_of(9, 10), findings=many)
    long = Summary(**{**summary_of("x").__dict__, "whole": whole})
    assert "and 90 more in" in console_of(long)
    assert "and 40 more in the CSV" in render_summary_page(long)
    assert len(tree_of_summary(long)["findings"]) == 100  # type: ignore[arg-type]


def test_figures_are_the_same_everywhere() -> None:
    summary = summary_of("usual")
    told = tell_share(summary.whole.first)
    assert told == "70.0 % (39.7 to 89.2)"
    assert told in console_of(summary)
    assert told in render_summary_page(summary)
    tree = json.loads(json.dumps(tree_of_summary(summary)))
    assert tree["yield"]["first"] == {
        "count": 7,
        "total": 10,
        "share": 0.7,
        "low": 0.396778,
        "high": 0.892209,
    }
    assert re.search(r'"yield","all","","first-pass yield",0.7,0.396778,0.892209', _csv(summary))


def _csv(summary: Summary) -> str:
    return render_summary_csv(summary).decode("utf-8")


def test_a_group_in_which_nothing_failed_names_nothing() -> None:
    """What is only open is no failure."""
    usual = summary_of("x")
    tally = Tally(**{**usual.whole.__dict__, "findings": (Often(name="r", orders=0, open=3),)})
    shown = console_of(Summary(**{**usual.__dict__, "by": {"model": (tally,)}}))
    assert "most often" not in shown
    assert "most often" in console_of(usual)


def test_returns_of_no_order_are_told_in_words() -> None:
    told = tell_returns(share_of(0, 0), 30)
    assert told == "no order was released at least 30 days before the last report"
    assert tell_returns(share_of(1, 1), 30).endswith(
        "1 of 1 order released at least 30 days before the last report"
    )


def test_what_was_not_checked_is_told_with_its_reasons() -> None:
    assert tell_unrun({}) == "0 records of units not checked"
    assert tell_unrun({"locked": 1}) == "1 record of a unit not checked: locked 1"


@pytest.mark.parametrize(
    ("action", "told"),
    [
        ("Reseat the plug. Here: the pack's plug, left.", "the pack's plug, left"),
        ("Reseat the module: push it in at a slant; wait.", "Reseat the module"),
        ("Reseat the M.2 module and check", "Reseat the M.2 module and check"),
        ("wifi.presence", "wifi.presence"),
        ("", ""),
    ],
)
def test_a_reseat_is_told_by_its_connection_or_its_beginning(action: str, told: str) -> None:
    assert tell_shortly(action) == told


@pytest.mark.parametrize(
    ("chance", "told"), [(0.05, "1 in 20"), (1e-9, "less than 1 in 10,000"), (1, "1 in 1")]
)
def test_a_chance_is_said_as_one_in_so_many(chance: float, told: str) -> None:
    assert tell_chance(chance) == told


def test_a_day_that_there_is_not_is_its_number() -> None:
    assert tell_day(10**15) == "second 1000000000000000"
    assert tell_day(0) == "1970-01-01"


def test_the_newest_weeks_are_shown_where_there_are_many() -> None:
    weeks = [f"{year}-W{week:02}" for year in (2025, 2026) for week in range(1, 53)]
    group = tuple(Tally(name=week, first=share_of(7, 10), final=share_of(9, 10)) for week in weeks)
    usual = summary_of("x")
    page = render_summary_page(Summary(**{**usual.__dict__, "by": {**usual.by, "week": group}}))
    table = page.partition("<h2>Yield by week</h2>")[2].partition("</table>")[0]
    named = re.findall(r'<th scope="row">([^<]*)</th>', table)
    assert named == weeks[:-61:-1]
    assert re.findall(r">(20[0-9]{2})</text>", table) == ["2025", "2026"]
    assert table.count('class="whisker"') == 120


def test_a_list_that_may_be_cut_says_so() -> None:
    usual = summary_of("x")
    many = Summary(**{**usual.__dict__, "returned": usual.returned * MOST_RETURNED})
    told = f"Listed are the last {MOST_RETURNED} that came back"
    assert told in render_summary_page(many)
    assert told in console_of(many)
    assert "and 40 more in" in console_of(many)
    assert tree_of_summary(many)["returned_at_most"] == MOST_RETURNED
    assert told not in render_summary_page(usual) + console_of(usual)


def test_every_figure_of_minutes_is_in_the_csv() -> None:
    raw = _csv(summary_of("usual"))
    for line in ('"minutes",12.5', '"pauses",2', '"unproven",1'):
        assert f'"minutes lost","all","usual",{line},"",""' in raw


def test_units_are_masked_everywhere_where_that_is_asked_for() -> None:
    """Also where an order without a number goes by its unit."""
    usual = summary_of("usual")
    back = Returned(
        **{**usual.returned[0].__dict__, "unit": "label SN12345678", "order": "label SN12345678"}
    )
    hidden = hide_units(Summary(**{**usual.__dict__, "returned": (back,)}))
    told = (
        console_of(hidden),
        render_summary_page(hidden),
        _csv(hidden),
        json.dumps(tree_of_summary(hidden)),
    )
    for text in told:
        assert "SN1234" not in text
        assert "label ****5678" in text
