"""Many tests at once, and how many of the alarms may be false.

Y. Benjamini, Y. Hochberg, "Controlling the false discovery rate: a practical and powerful approach
to multiple testing", Journal of the Royal Statistical Society B 57 (1995), 289-300.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

FALSE_SHARE: Final = 0.05
"""Of all that is said to differ, this share may not, on average."""


def adjust(chances: Sequence[float]) -> list[float]:
    """Each chance, adjusted for all the others: p(i) m / i, and no more than any larger one's.

    What is adjusted to at most `FALSE_SHARE` is a discovery at that share.
    """
    if not chances:
        return []
    from scipy.stats import false_discovery_control  # noqa: PLC0415 - takes a second to load

    adjusted: list[float] = false_discovery_control(list(chances), method="bh").tolist()
    return adjusted
