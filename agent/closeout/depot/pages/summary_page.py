"""A summary as one HTML file: a chart and its table for each list. No script, no link out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Final

from closeout import VERSION
from closeout.depot.pages.charts import Bar, Point, draw_bars, draw_shares, draw_weeks
from closeout.depot.pages.summary_console import HOW_LOST, SO_FAR
from closeout.depot.pages.telling import (
    tell_day,
    tell_listed,
    tell_most,
    tell_name,
    tell_percent,
    tell_returns,
    tell_share,
    tell_shortly,
    tell_terms,
    tell_unrun,
)
from closeout.depot.summary import Often, Summary, Tally, cumulate
from closeout.report.html import NOTHING, Html, fill, joined
from closeout.report.page import STYLE

OWN_STYLE: Final = Path(__file__).with_name("fleet.css")
MOST_BARS: Final = 15
MOST_ROWS: Final = 60
ONLY_WEEKS: Final = "Weeks without an order are left out; the last one may go on still."
OF_FINDINGS: Final = (
    "Orders in which it failed or was answered no; each order counts once. Open: nobody could tell,"
    " or nobody has looked yet."
)
OF_RESEATS: Final = "Orders that were advised to; each order counts once."
MARKS: Final = (
    "Filled circle: first-pass yield; open square: final yield. Lines are 95 % intervals (Wilson)."
)


def render_summary_page(summary: Summary) -> str:
    """The page; the same summary gives the same text."""
    style = Html(STYLE.read_text("utf-8") + OWN_STYLE.read_text("utf-8"))
    days = f"{tell_day(summary.first)} to {tell_day(summary.last)}"
    title = f"Depot, {days if summary.attempts else 'nothing judged'}"
    return fill(
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        "<title>{}</title>\n<style>\n{}</style>\n</head>\n<body>\n"
        "<header><p>closeout depot summary</p><p>closeout {}</p></header>\n"
        "<main>\n<h1>{}</h1>\n{}</main>\n"
        "<footer><p>Units and serials on this page are personal data.</p></footer>\n"
        "</body>\n</html>\n",
        *(title, style, VERSION, title, joined(_sections(summary))),
    )


def _sections(summary: Summary) -> Iterable[Html]:
    yield _facts(summary)
    yield _often("Findings", "Rule", OF_FINDINGS, summary.whole.findings)
    yield _often("Advised reseats", "What to do", OF_RESEATS, summary.whole.reseats)
    yield _lost(summary)
    for name, group in summary.by.items():
        yield _yields(name, group)
    yield _returns(summary)
    yield _stale(summary)


def _facts(summary: Summary) -> Html:
    told = (
        *(("Only", tell_terms(summary.terms.only)),) * bool(summary.terms.only),
        ("Units", f"{summary.units:,}"),
        ("Orders", f"{summary.whole.first.total:,} in {summary.attempts:,} attempts"),
        ("First-pass yield", tell_share(summary.whole.first)),
        ("Final yield", tell_share(summary.whole.final)),
        ("Drafts, not counted", f"{summary.drafts:,}"),
        ("Not counted", tell_unrun(summary.unrun)),
    )
    rows = [fill("<dt>{}</dt><dd>{}</dd>", name, text) for name, text in told]
    return fill('<dl class="facts">{}</dl>\n', joined(rows))


def _yields(name: str, group: tuple[Tally, ...]) -> Html:
    points = [
        Point(name=tell_name(each.name), round=each.first, square=each.final) for each in group
    ]
    title = f"Yield by {name}"
    draw = draw_weeks if name == "week" else draw_shares
    is_last = name == "week"
    about = f"{MARKS} {ONLY_WEEKS}" if is_last else MARKS
    drawn = draw(title, about, points[-MOST_ROWS:] if is_last else points[:MOST_ROWS])
    told = tuple(reversed(group)) if is_last else group
    rows = [
        (
            tell_name(each.name),
            f"{each.first.total:,}",
            tell_share(each.first),
            tell_share(each.final),
            f"{each.minutes:,.0f}",
        )
        for each in told
    ]
    head = (name.capitalize(), "Orders", "First-pass yield", "Final yield", "Minutes lost")
    most = [
        (
            tell_name(each.name),
            tell_most(each.findings) or "none",
            tell_most(each.reseats, 1) or "none",
        )
        for each in told
    ]
    heads = (name.capitalize(), "Failed most, orders", "Advised most, orders")
    tables = joined((_table(head, rows), _table(heads, most, "said")))
    return _section(title, about, drawn, tables)


def _often(title: str, column: str, about: str, found: tuple[Often, ...]) -> Html:
    bars = [
        Bar(name=tell_shortly(each.name), length=each.orders, figure=f"{each.orders:,}")
        for each in found[:MOST_BARS]
    ]
    has_more = any(each.open or each.kept_back for each in found)
    head = (column, "Orders", "So far", *(("Open in", "Kept back by it") if has_more else ()))
    rows = [
        (
            each.name,
            f"{each.orders:,}",
            tell_percent(so_far),
            f"{each.open:,}",
            f"{each.kept_back:,}",
        )[: len(head)]
        for each, so_far in cumulate(found)
    ]
    return _section(title, f"{about} {SO_FAR}", draw_bars(title, about, bars), _table(head, rows))


def _lost(summary: Summary) -> Html:
    bars = [
        Bar(name=each.rule, length=each.minutes, figure=f"{each.minutes:,.0f}")
        for each in summary.whole.lost[:MOST_BARS]
    ]
    rows = [
        (each.rule, f"{each.minutes:,.0f}", f"{each.pauses:,}", f"{each.unproven:,}")
        for each in summary.whole.lost
    ]
    head = ("Rule", "Minutes", "Pauses", "Of these by an unproven clock")
    drawn = draw_bars("Minutes lost", HOW_LOST, bars)
    return _section("Minutes lost", HOW_LOST, drawn, _table(head, rows))


def _returns(summary: Summary) -> Html:
    days = summary.terms.days
    about = f"{tell_returns(summary.returns, days)}. {tell_listed(len(summary.returned))}".strip()
    rows = [
        (each.unit, each.model, each.station, each.order, each.next_order, f"{each.days}")
        for each in summary.returned
    ]
    head = ("Unit", "Model", "Station", "Order", "Next order", "Days")
    return _section(f"Back within {days} days", about, NOTHING, _table(head, rows, "said"))


def _stale(summary: Summary) -> Html:
    about = f"More than {summary.terms.stale_days} days behind the newest that any station has."
    rows = [
        (
            each.station,
            each.what,
            each.version or "not told",
            each.newest,
            f"{each.days}",
            tell_day(each.used),
        )
        for each in summary.stale
    ]
    head = ("Station", "What", "It has", "Newest", "Days behind", "Used last")
    return _section("Old sticks", about, NOTHING, _table(head, rows, "said"))


def _section(title: str, about: str, drawn: Html, table: Html) -> Html:
    return fill(
        '<section>\n<h2>{}</h2>\n<p class="muted">{}</p>\n{}{}</section>\n',
        *(title, about, drawn, table),
    )


def _table(head: Sequence[str], rows: Sequence[Sequence[str]], sort: str = "counted") -> Html:
    """The first rows, and how many more there are; the CSV has all of them."""
    if not rows:
        return fill("<p>none</p>\n")
    heads = joined(fill('<th scope="col">{}</th>', each) for each in head)
    body = joined(_row(row) for row in rows[:MOST_ROWS])
    left = len(rows) - MOST_ROWS
    more = fill("<p>and {} more in the CSV</p>\n", f"{left:,}") if left > 0 else NOTHING
    return fill(
        '<table class="figures {}">\n<thead><tr>{}</tr></thead>\n<tbody>\n{}</tbody>\n</table>\n{}',
        *(sort, heads, body, more),
    )


def _row(row: Sequence[str]) -> Html:
    cells = joined(fill("<td>{}</td>", cell) for cell in row[1:])
    return fill('<tr><th scope="row">{}</th>{}</tr>\n', row[0], cells)
