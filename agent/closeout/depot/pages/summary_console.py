"""A summary on a screen: the figures first, then the longest lists by their heads."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from closeout.depot.pages.telling import (
    tell_count,
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
from closeout.report.console import Desk
from closeout.report.screen import Screen

MOST_SHOWN: Final = 10
MOST_WEEKS: Final = 8
PLURALS: Final = {"model": "models", "repair": "repairs", "station": "stations", "week": "weeks"}
SO_FAR: Final = "So far: the share that a line and those above it have of all lines."
HOW_LOST: Final = (
    "From the end of an attempt that did not release to the start of the next of the same order, if"
    " on the same day and within four hours; shared equally by the findings that kept it back."
)


def render_summary(summary: Summary, screen: Screen) -> None:
    """Counts, findings, reseats, minutes, each group, returns, stale sticks."""
    desk = Desk(screen)
    _print_counts(summary, desk)
    _print_often("Findings, by the orders in which they failed", summary.whole.findings, desk)
    _print_often("Advised reseats, by orders", summary.whole.reseats, desk)
    _print_lost(summary, desk)
    for name, group in summary.by.items():
        _print_yields(name, group, desk)
    _print_returns(summary, desk)
    _print_stale(summary, desk)


def _print_counts(summary: Summary, desk: Desk) -> None:
    if summary.terms.only:
        desk.line(tell_terms(summary.terms.only), lead="Only: ")
    told = f"{tell_day(summary.first)} to {tell_day(summary.last)}" if summary.attempts else ""
    desk.line(f"{tell_count(summary.units, 'unit')} {told}".strip(), style="bold")
    orders = tell_count(summary.whole.first.total, "order")
    desk.line(f"{orders}, {tell_count(summary.attempts, 'attempt')}")
    desk.line(tell_share(summary.whole.first), lead="First-pass yield: ")
    desk.line(tell_share(summary.whole.final), lead="Final yield: ")
    desk.line(f"{tell_count(summary.drafts, 'draft')}", lead="Not counted: ")
    desk.line(tell_unrun(summary.unrun), lead="Not counted: ")
    desk.line("Shares with their 95 % interval (Wilson).")


def _print_yields(name: str, group: tuple[Tally, ...], desk: Desk) -> None:
    shown = group[-MOST_WEEKS:] if name == "week" else _worst(group)
    which = "the last" if name == "week" else "those first that are surely low"
    desk.heading(f"By {name}: first-pass and final yield, {which}")
    for each in shown:
        orders = tell_count(each.first.total, "order")
        told = f"{tell_share(each.first)}, final {tell_share(each.final)}, {orders}"
        minutes = f"; {each.minutes:,.0f} min lost" if each.minutes else ""
        failed = tell_most(each.findings, 2)
        most = f"; most often {failed}" if failed else ""
        desk.line(f"{told}{minutes}{most}", lead=f"  {tell_name(each.name)}: ")
    _print_none(group, desk)
    _print_more(len(group) - len(shown), PLURALS[name], desk)


def _worst(group: Iterable[Tally]) -> tuple[Tally, ...]:
    """Those whose first-pass yield is surely low: by the upper end of the interval."""
    return tuple(sorted(group, key=lambda each: (each.first.high, each.name))[:MOST_SHOWN])


def _print_often(title: str, found: tuple[Often, ...], desk: Desk) -> None:
    desk.heading(title)
    for each, so_far in cumulate(found)[:MOST_SHOWN]:
        is_open = f"; open in {each.open:,}" if each.open else ""
        kept = f"; {each.kept_back:,} kept back by it" if each.kept_back else ""
        told = f"{tell_shortly(each.name)}; {tell_percent(so_far)} so far{is_open}{kept}"
        desk.line(told, lead=f"  {tell_count(each.orders, 'order')}: ")
    _print_none(found, desk)
    _print_more(len(found) - MOST_SHOWN, "more", desk)
    if found:
        desk.line(SO_FAR, lead="  ")


def _print_lost(summary: Summary, desk: Desk) -> None:
    desk.heading("Minutes lost")
    for each in summary.whole.lost[:MOST_SHOWN]:
        told = f"{each.minutes:,.0f} min in {tell_count(each.pauses, 'pause')}"
        unproven = f", {each.unproven:,} by a clock that nobody proved" if each.unproven else ""
        desk.line(told + unproven, lead=f"  {each.rule}: ")
    _print_none(summary.whole.lost, desk)
    _print_more(len(summary.whole.lost) - MOST_SHOWN, "more", desk)
    desk.line(HOW_LOST, lead="  ")


def _print_returns(summary: Summary, desk: Desk) -> None:
    days = summary.terms.days
    desk.heading(f"Back within {days} days of the release")
    desk.line(tell_returns(summary.returns, days), lead="  ")
    for each in summary.returned[:MOST_SHOWN]:
        told = f"after {each.days} days; order {each.order}, then {each.next_order}"
        desk.line(f"{told}, {each.model}, {each.station}", lead=f"  {each.unit}: ")
    _print_more(len(summary.returned) - MOST_SHOWN, "more", desk)
    if listed := tell_listed(len(summary.returned)):
        desk.line(f"{listed[:-1]}; the share is of all.", lead="  ")


def _print_stale(summary: Summary, desk: Desk) -> None:
    desk.heading(f"Old sticks: more than {summary.terms.stale_days} days behind the newest")
    for each in summary.stale:
        told = f"{each.what} {each.version or 'not told'}, {each.days} days behind {each.newest}"
        desk.line(f"{told}, used last on {tell_day(each.used)}", lead=f"  {each.station}: ")
    _print_none(summary.stale, desk)


def _print_none(found: tuple[object, ...], desk: Desk) -> None:
    if not found:
        desk.line("none", lead="  ")


def _print_more(count: int, what: str, desk: Desk) -> None:
    if count > 0:
        desk.line(f"and {count:,} {what} in --json, --csv and --html", lead="  ")
