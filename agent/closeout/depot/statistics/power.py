"""What a test could have seen: said beside what it saw, so that silence is not taken for health.

Counted out, not simulated. The others are taken to be so many that their share is known; the place
has n units, and a finding that the others have with the share r has the share min(1, times r) here.
The count that raises an alarm is the least whose mid-p value at the odds ratio 1.5 is at most the
chance asked for; the power is the binomial chance of that count or more.
"""

from __future__ import annotations

from bisect import bisect_left
from functools import lru_cache
from typing import Final

from closeout.depot.statistics.stratified import UNREMARKABLE, upper_tail

ALARM: Final = 2e-4
"""The chance below which one test among some hundred still is an alarm (.05 of 250)."""
MANY: Final = 100_000
"""Units of the others: their share is as good as known."""


@lru_cache(maxsize=4096)
def needed_count(units: int, share: float, chance: float = ALARM) -> int | None:
    """How many of the units must have the finding to raise an alarm; none where all do not."""
    elsewhere = round(MANY * share)

    def is_alarm(count: int) -> bool:
        return upper_tail([(units, MANY, elsewhere + count)], count, UNREMARKABLE) <= chance

    if units == 0 or not is_alarm(units):
        return None
    return bisect_left(range(1, units + 1), True, key=is_alarm) + 1  # noqa: FBT003 - what is sought


def power(units: int, share: float, times: float, chance: float = ALARM) -> float:
    """How often a place with `times` the share of the others would raise an alarm."""
    needed = needed_count(units, share, chance)
    if needed is None:
        return 0.0
    from scipy.stats import binom  # noqa: PLC0415 - takes a second to load

    return float(binom.sf(needed - 1, units, min(1.0, times * share)))
