"""Whether a profile asks for what the model never has, by how many units fail it.

Two explanations of k failures in n units are weighed by their Beta-binomial chances (J. G. Skellam,
"A probability distribution derived from the binomial distribution ...", Journal of the Royal
Statistical Society B 10 (1948), 257-261; with B for Euler's beta function)

    P(k of n) ~ B(k + a, n - k + b) / B(a, b)

A wrong demand fails nearly everybody: a = 8, b = 1, a mean of 8/9. A right one fails few: a = 1,
b = 25, a mean of 1/26. Before anything is seen, one demand of a model in 500 is taken to be wrong.
"""

from __future__ import annotations

from math import exp, lgamma, log
from typing import Final

WRONG: Final = (8.0, 1.0)
RIGHT: Final = (1.0, 25.0)
WRONG_BEFOREHAND: Final = 1 / 500
SURE: Final = 0.95
"""The belief from which on it is said."""


def belief_in_wrong(failed: int, total: int) -> float:
    """How far it is to be believed that the demand is wrong. ValueError for more than all."""
    if not 0 <= failed <= total:
        raise ValueError(f"{failed} of {total} cannot fail")
    wrong = log(WRONG_BEFOREHAND) + _weight(failed, total, *WRONG)
    right = log(1 - WRONG_BEFOREHAND) + _weight(failed, total, *RIGHT)
    return 1 / (1 + exp(min(right - wrong, 700.0)))


def _weight(failed: int, total: int, a: float, b: float) -> float:
    """The logarithm of the Beta-binomial chance, without the binomial coefficient."""
    return _log_beta(failed + a, total - failed + b) - _log_beta(a, b)


def _log_beta(a: float, b: float) -> float:
    return lgamma(a) + lgamma(b) - lgamma(a + b)
