"""Whether one place has a finding more often than all others doing the same work.

Within a stratum, the work that can be compared (model and repairs), the count of one place given
all counts follows Fisher's non-central hypergeometric distribution with the odds ratio as its
parameter (P. McCullagh, J. A. Nelder, "Generalized Linear Models", 2nd edition 1989, section 7.3.2;
A. Fog, "Calculation methods for Wallenius' noncentral hypergeometric distribution", Communications
in Statistics 37 (2008), 258-273, which has this one too):

    P(x) ~ C(n, x) C(N, m - x) odds^x

The sum over the strata has the convolution of these as its distribution. What counts is the chance
of more than was seen, and half the chance of just as much: the mid-p value (H. O. Lancaster,
"Significance tests in discrete distributions", Journal of the American Statistical Association 56
(1961), 223-234).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING, Final, TypeAlias

from closeout.model.frozen import frozen

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Chances: TypeAlias = NDArray[np.float64]

UNREMARKABLE: Final = 1.5
"""The odds ratio up to which places may differ: large ledgers make any smaller one an alarm."""


@frozen
class Stratum:
    """Work of one sort: so many `count` of `total` at the place, and the others elsewhere."""

    count: int
    total: int
    other_count: int
    other_total: int

    @property
    def tells(self) -> bool:
        """The counts could have been distributed otherwise; else it says nothing."""
        found = self.count + self.other_count
        return 0 < found < self.total + self.other_total and min(self.total, self.other_total) > 0


def chance_of_more(strata: Iterable[Stratum], odds: float = UNREMARKABLE) -> float:
    """The mid-p value of what was seen or more, if the odds ratio were `odds`; 1 of nothing."""
    telling = [each for each in strata if each.tells]
    if not telling:
        return 1.0
    return upper_tail([_margins(each) for each in telling], sum(s.count for s in telling), odds)


def upper_tail(margins: Sequence[tuple[int, int, int]], seen: int, odds: float) -> float:
    """The mid-p value of a sum over strata of given margins: n, N and both counts together."""
    import numpy as np  # noqa: PLC0415 - a question asks for it, no command line does

    least, chances = 0, np.ones(1)
    for margin in margins:
        first, own = distribution(*margin, odds)
        least, chances = least + first, np.convolve(chances, own)
    at = seen - least
    return float(min(1.0, chances[at + 1 :].sum() + chances[at] / 2))


def ratio_of(strata: Iterable[Stratum]) -> float | None:
    """The odds ratio over all strata (N. Mantel, W. Haenszel, 1959); none where it has no bound."""
    above = below = 0.0
    for each in strata:
        whole = each.total + each.other_total
        if whole:
            above += each.count * (each.other_total - each.other_count) / whole
            below += each.other_count * (each.total - each.count) / whole
    return above / below if below else None


@lru_cache(maxsize=4096)
def distribution(own: int, others: int, found: int, odds: float) -> tuple[int, Chances]:
    """The least count that a place can have, and the chances of it and of each one above."""
    import numpy as np  # noqa: PLC0415 - as above
    from scipy.special import gammaln  # noqa: PLC0415 - as above

    least, most = max(0, found - others), min(own, found)
    counts = np.arange(least, most + 1)
    weights: Chances = (
        counts * np.log(odds)
        - gammaln(counts + 1)
        - gammaln(own - counts + 1)
        - gammaln(found - counts + 1)
        - gammaln(others - found + counts + 1)
    )
    chances = np.exp(weights - weights.max())
    return least, chances / chances.sum()


def _margins(stratum: Stratum) -> tuple[int, int, int]:
    return stratum.total, stratum.other_total, stratum.count + stratum.other_count
