"""A share and how far it can be trusted.

E. B. Wilson, "Probable inference, the law of succession, and statistical inference", Journal of the
American Statistical Association 22 (1927), 209-212: with n of which k, p = k/n and z,

    (p + z^2/2n -+ z sqrt(p(1-p)/n + z^2/4n^2)) / (1 + z^2/n)
"""

from __future__ import annotations

from math import sqrt
from typing import Final

from closeout.model.frozen import frozen

Z_OF_95_PER_CENT: Final = 1.959963984540054
"""The normal distribution has .975 below it."""


@frozen
class Share:
    """`count` of `total`, with the bounds of its 95 % interval; 0 to 1 where the total is 0."""

    count: int
    total: int
    low: float
    high: float

    @property
    def value(self) -> float | None:
        """The share; none of nothing."""
        return self.count / self.total if self.total else None


def share_of(count: int, total: int) -> Share:
    """The share with its Wilson interval. ValueError where the count is none of the total."""
    if not 0 <= count <= total:
        raise ValueError(f"{count} of {total} is no share")
    if total == 0:
        return Share(count=0, total=0, low=0.0, high=1.0)
    share, square = count / total, Z_OF_95_PER_CENT**2
    middle = share + square / (2 * total)
    reach = Z_OF_95_PER_CENT * sqrt(share * (1 - share) / total + square / (4 * total**2))
    whole = 1 + square / total
    low = 0.0 if count == 0 else (middle - reach) / whole
    high = 1.0 if count == total else (middle + reach) / whole
    return Share(count=count, total=total, low=low, high=high)
