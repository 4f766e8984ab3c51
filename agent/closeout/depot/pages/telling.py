"""How figures are said: the same words and digits on the console and on the page."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Final

from closeout.depot.statistics.wilson import Share
from closeout.depot.summary import MOST_RETURNED

NOTHING: Final = "-"
LOWEST_SAID: Final = 0.0001


def tell_percent(share: float) -> str:
    """`77.5 %`."""
    return f"{100 * share:.1f} %"


def tell_share(share: Share) -> str:
    """`77.5 % (76.9 to 78.0)`: the share and its 95 % interval; a dash of nothing."""
    if share.value is None:
        return NOTHING
    return f"{tell_percent(share.value)} ({100 * share.low:.1f} to {100 * share.high:.1f})"


def tell_chance(chance: float) -> str:
    """A chance as one in so many; the least of them by its bound alone."""
    if chance < LOWEST_SAID:
        return "less than 1 in 10,000"
    return f"1 in {1 / chance:,.0f}"


def tell_day(seconds: int) -> str:
    """`2026-11-29`; a time of no year that there is as its number."""
    try:
        return datetime.fromtimestamp(seconds, UTC).strftime("%Y-%m-%d")
    except (OverflowError, OSError, ValueError):
        return f"second {seconds}"


def tell_count(number: int, singular: str, plural: str = "") -> str:
    """`1 order`, `2 orders`."""
    return f"{number:,} {singular if number == 1 else plural or singular + 's'}"


def tell_listed(count: int) -> str:
    """That a list of units which came back may be no more than its head; else empty."""
    return f"Listed are the last {count} that came back." if count == MOST_RETURNED else ""
