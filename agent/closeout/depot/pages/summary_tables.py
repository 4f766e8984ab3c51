"""A summary as JSON and as one long CSV table."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, TypeAlias

from closeout.depot.pages.csv_text import render_csv
from closeout.depot.statistics.wilson import Share
from closeout.depot.summary import MOST_RETURNED, Summary, Tally, cumulate

FORMAT: Final = 1
HEAD: Final = ("list", "group", "item", "figure", "value", "low", "high")
ALL: Final = "all"
Row: TypeAlias = tuple[object, ...]


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
        "only": dict(summary.terms.only),
        **_tree_of_tally(summary.whole),
        **{
            f"by_{name}": [{"name": each.name, **_tree_of_tally(each)} for each in group]
            for name, group in summary.by.items()
        },
        "came_back": _tree_of_share(summary.returns),
        "returned_at_most": MOST_RETURNED,
        "returned": [dict(each.__dict__) for each in summary.returned],
        "stale": [dict(each.__dict__) for each in summary.stale],
    }


def render_summary_csv(summary: Summary) -> bytes:
    """Each figure in a row of its own: the list, the item, what it is, and its interval."""
    return render_csv(HEAD, _rows(summary))


def _rows(summary: Summary) -> Iterator[Row]:
    for name, count in (
        ("units", summary.units),
        ("attempts", summary.attempts),
        ("drafts", summary.drafts),
        *((f"unrun: {why}", count) for why, count in summary.unrun.items()),
    ):
        yield "counts", "", ALL, name, count, "", ""
    yield from _rows_of_tally(ALL, summary.whole)
    for name, group in summary.by.items():
        for each in group:
            yield from _rows_of_tally(name, each)
    yield from _rows_of_share("came back", "", ALL, "units", summary.returns)
    for unit in summary.returned:
        yield "returned", "", unit.unit, "days", unit.days, "", ""
    for stale in summary.stale:
        yield "stale", "", stale.station, stale.what, stale.days, "", ""


def _rows_of_tally(kind: str, tally: Tally) -> Iterator[Row]:
    """What orders add up to, the group they are in before each."""
    group = ALL if kind == ALL else f"{kind} {tally.name}"
    yield "yield", group, "", "orders", tally.first.total, "", ""
    yield from _rows_of_share("yield", group, "", "first-pass yield", tally.first)
    yield from _rows_of_share("yield", group, "", "final yield", tally.final)
    for finding in tally.findings:
        yield "findings", group, finding.name, "orders", finding.orders, "", ""
        yield "findings", group, finding.name, "open", finding.open, "", ""
        yield "findings", group, finding.name, "kept back", finding.kept_back, "", ""
    for step in tally.reseats:
        yield "reseats", group, step.name, "orders", step.orders, "", ""
    for lost in tally.lost:
        yield "minutes lost", group, lost.rule, "minutes", round(lost.minutes, 1), "", ""
        yield "minutes lost", group, lost.rule, "pauses", lost.pauses, "", ""
        yield "minutes lost", group, lost.rule, "unproven", lost.unproven, "", ""


def _rows_of_share(name: str, group: str, item: str, figure: str, share: Share) -> Iterator[Row]:
    if share.value is not None:
        figures = (round(each, 6) for each in (share.value, share.low, share.high))
        yield (name, group, item, figure, *figures)


def _tree_of_tally(tally: Tally) -> dict[str, object]:
    return {
        "yield": {
            "first": _tree_of_share(tally.first),
            "final": _tree_of_share(tally.final),
        },
        "findings": [
            {
                "rule": each.name,
                "orders": each.orders,
                "open": each.open,
                "kept_back": each.kept_back,
                "so_far": round(so_far, 6),
            }
            for each, so_far in cumulate(tally.findings)
        ],
        "reseats": [
            {"action": each.name, "orders": each.orders, "so_far": round(so_far, 6)}
            for each, so_far in cumulate(tally.reseats)
        ],
        "minutes_lost": [
            {
                "rule": each.rule,
                "minutes": round(each.minutes, 1),
                "pauses": each.pauses,
                "unproven": each.unproven,
            }
            for each in tally.lost
        ],
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
