"""How figures are said: the same words and digits on the console and on the page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import Final

from closeout.depot.statistics.wilson import Share
from closeout.depot.summary import MOST_RETURNED, Often
from closeout.judge.steps import HERE
from closeout.model.late_pattern import late_pattern

NOTHING: Final = "-"
UNTOLD: Final = "not told"
LOWEST_SAID: Final = 0.0001
MOST_NAMED: Final = 3
END_OF_CLAUSE: Final = late_pattern(r"[.:;](?: |$)")


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


def tell_name(name: str) -> str:
    """The name of a model, repair, station or week, or that there is none."""
    return name or UNTOLD


def tell_most(found: Sequence[Often], most: int = MOST_NAMED) -> str:
    """`wifi.presence 12, display.size 3`: what failed most often, with the orders."""
    failed = [each for each in found if each.orders]
    return ", ".join(f"{tell_shortly(each.name)} {each.orders:,}" for each in failed[:most])


def tell_shortly(name: str) -> str:
    """Of an action the connection that it names at its end, else how it begins; a rule whole."""
    begin, _, connection = name.partition(HERE)
    if connection:
        return connection.removesuffix(".")
    return END_OF_CLAUSE.split(begin, maxsplit=1)[0]


def tell_terms(only: Mapping[str, str]) -> str:
    """`model northlake/fen-14, station S7`; of an empty name that it was not told."""
    return ", ".join(f"{name} {tell_name(wanted)}" for name, wanted in only.items())


def tell_returns(share: Share, days: int) -> str:
    """How many came back, of the orders that are old enough to tell; in words where none is."""
    old = f"released at least {days} days before the last report"
    if not share.total:
        return f"no order was {old}"
    return f"{tell_share(share)}: {share.count:,} of {tell_count(share.total, 'order')} {old}"


def tell_unrun(unrun: Mapping[str, int]) -> str:
    """`3 records of units that were not checked: no-boot 2, locked 1`."""
    count = sum(unrun.values())
    reasons = ", ".join(f"{why} {number:,}" for why, number in unrun.items())
    told = tell_count(count, "record of a unit", "records of units") + " not checked"
    return f"{told}: {reasons}" if reasons else told


def tell_listed(count: int) -> str:
    """That a list of units which came back may be no more than its head; else empty."""
    return f"Listed are the last {count} that came back." if count == MOST_RETURNED else ""
