"""A summary as JSON and as one long CSV table."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from closeout.depot.pages.csv_text import render_csv
from closeout.depot.statistics.wilson import Share
from closeout.depot.summary import MOST_RETURNED, Summary, Yield

FORMAT: Final = 1
HEAD: Final = ("list", "item", "figure", "value", "low", "high")


def tree_of_summary(summary: Summary) -> dict[str, object]:
    """Plain values; keys stand in the order in which the lists are told."""
    return {
        "depot_summary": FORMAT,
        "days_to_come_back": summary.terms.days,
        "stale_days": summary.terms.stale_days,
        "units": summary.units,
        "attempts": summary.attempts,
        "drafts": summary.drafts,
        "unrun": dict(summary.unrun),
        "first": summary.first,
        "last": summary.last,
        "yield": _tree_of_yield(summary.whole),
        **{
            f"yield_by_{name}": [_tree_of_yield(each) for each in group]
            for name, group in summary.by.items()
        },
        "findings": [
            {"rule": each.name, "orders": each.orders, "kept_back": each.kept_back}
            for each in summary.findings
        ],
        "reseats": [{"step": each.name, "orders": each.orders} for each in summary.reseats],
        "minutes_lost": [
            {
                "rule": each.rule,
                "minutes": round(each.minutes, 1),
                "pauses": each.pauses,
                "unproven": each.unproven,
            }
            for each in summary.lost
        ],
        "came_back": _tree_of_share(summary.returns),
        "returned_at_most": MOST_RETURNED,
        "returned": [dict(each.__dict__) for each in summary.returned],
        "stale": [dict(each.__dict__) for each in summary.stale],
    }


def render_summary_csv(summary: Summary) -> bytes:
    """Each figure in a row of its own: the list, the item, what it is, and its interval."""
    return render_csv(HEAD, _rows(summary))


def _rows(summary: Summary) -> Iterator[tuple[object, ...]]:
    for name, count in (
        ("units", summary.units),
        ("attempts", summary.attempts),
        ("drafts", summary.drafts),
        *((f"unrun: {why}", count) for why, count in summary.unrun.items()),
    ):
        yield "counts", "all", name, count, "", ""
    yield from _rows_of_yield("yield", summary.whole)
    for name, group in summary.by.items():
        for each in group:
            yield from _rows_of_yield(f"yield by {name}", each)
    yield from _rows_of_lists(summary)


def _rows_of_lists(summary: Summary) -> Iterator[tuple[object, ...]]:
    for finding in summary.findings:
        yield "findings", finding.name, "orders", finding.orders, "", ""
        yield "findings", finding.name, "kept back", finding.kept_back, "", ""
    for step in summary.reseats:
        yield "reseats", step.name, "orders", step.orders, "", ""
    for lost in summary.lost:
        yield "minutes lost", lost.rule, "minutes", round(lost.minutes, 1), "", ""
        yield "minutes lost", lost.rule, "pauses", lost.pauses, "", ""
        yield "minutes lost", lost.rule, "unproven", lost.unproven, "", ""
    yield from _rows_of_share("came back", "all", "units", summary.returns)
    for unit in summary.returned:
        yield "returned", unit.unit, "days", unit.days, "", ""
    for stale in summary.stale:
        yield "stale", stale.station, stale.what, stale.days, "", ""


def _rows_of_yield(name: str, each: Yield) -> Iterator[tuple[object, ...]]:
    yield name, each.name, "orders", each.first.total, "", ""
    yield from _rows_of_share(name, each.name, "first-pass yield", each.first)
    yield from _rows_of_share(name, each.name, "final yield", each.final)


def _rows_of_share(name: str, item: str, figure: str, share: Share) -> Iterator[tuple[object, ...]]:
    if share.value is not None:
        yield name, item, figure, *(round(each, 6) for each in (share.value, share.low, share.high))


def _tree_of_yield(each: Yield) -> dict[str, object]:
    return {
        "name": each.name,
        "first": _tree_of_share(each.first),
        "final": _tree_of_share(each.final),
    }


def _tree_of_share(share: Share) -> dict[str, object]:
    value = None if share.value is None else round(share.value, 6)
    return {
        "count": share.count,
        "total": share.total,
        "share": value,
        "low": round(share.low, 6),
        "high": round(share.high, 6),
    }
