"""Shares, exact tests and beliefs against published figures, scipy, and sums over all cases."""

from itertools import product
from math import comb

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import (
    betabinom,
    binomtest,
    contingency,
    false_discovery_control,
    fisher_exact,
    nchypergeom_fisher,
)

from closeout.depot.statistics.belief import RIGHT, WRONG, WRONG_BEFOREHAND, belief_in_wrong
from closeout.depot.statistics.discovery import adjust
from closeout.depot.statistics.power import needed_count, power
from closeout.depot.statistics.stratified import Stratum, chance_of_more, ratio_of
from closeout.depot.statistics.wilson import share_of

EXAMPLE_OF_1995 = (
    *(0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344),
    *(0.0459, 0.3240, 0.4262, 0.5719, 0.6528, 0.7590, 1.0),
)
"""Benjamini and Hochberg 1995, section 4.1: four of them are discoveries at 5 %."""
TWO_STRATA = (
    Stratum(count=6, total=60, other_count=20, other_total=940),
    Stratum(count=1, total=40, other_count=30, other_total=960),
)
counts = st.integers(0, 6)


@pytest.mark.parametrize(
    ("count", "total", "low", "high"),
    [
        (0, 1, 0, 0.793451),
        (1, 1, 0.206549, 1),
        (0, 10, 0, 0.277533),
        (45, 50, 0.786398, 0.956524),
        (970, 1000, 0.957497, 0.978906),
    ],
)
def test_an_interval_is_the_one_computed_elsewhere(
    count: int, total: int, low: float, high: float
) -> None:
    share = share_of(count, total)
    assert (share.low, share.high) == pytest.approx((low, high), abs=1e-6)


@given(total=st.integers(1, 5000), part=st.floats(0, 1))
def test_an_interval_is_the_one_of_scipy(total: int, part: float) -> None:
    count = round(part * total)
    share = share_of(count, total)
    other = binomtest(count, total).proportion_ci(method="wilson")
    assert (share.low, share.high) == pytest.approx((other.low, other.high), abs=1e-9)
    assert 0 <= share.low <= count / total <= share.high <= 1


def test_a_share_of_nothing_can_be_anything() -> None:
    share = share_of(0, 0)
    assert (share.value, share.low, share.high) == (None, 0, 1)


@pytest.mark.parametrize(("count", "total"), [(2, 1), (-1, 3)])
def test_more_than_all_is_no_share(count: int, total: int) -> None:
    with pytest.raises(ValueError, match="no share"):
        share_of(count, total)


def test_four_discoveries_in_the_example_of_1995() -> None:
    adjusted = adjust(EXAMPLE_OF_1995)
    assert adjusted[:5] == pytest.approx([0.0015, 0.003, 0.0095, 0.035625, 0.0603])
    assert sum(value <= 0.05 for value in adjusted) == 4


@given(st.lists(st.floats(0, 1), max_size=40))
def test_adjusting_is_the_definition(chances: list[float]) -> None:
    ordered = sorted(chances)
    steps = [p * len(ordered) / (place + 1) for place, p in enumerate(ordered)]
    wanted = {p: min([*steps[place:], 1]) for place, p in enumerate(ordered)}
    adjusted = adjust(chances)
    for chance, value in zip(chances, adjusted, strict=True):
        assert value == pytest.approx(wanted[chance])


@pytest.mark.parametrize(
    ("odds", "chance"), [(1, 0.0125470506), (1.5, 0.0733487391), (2, 0.1992175)]
)
def test_two_strata_have_the_chance_computed_elsewhere(odds: float, chance: float) -> None:
    assert chance_of_more(TWO_STRATA, odds) == pytest.approx(chance, abs=1e-7)


@given(
    st.lists(st.tuples(counts, counts, counts, counts), min_size=1, max_size=3),
    st.sampled_from((0.5, 1.0, 1.5, 4.0)),
)
def test_a_chance_is_the_sum_over_all_tables_by_scipy(
    tables: list[tuple[int, int, int, int]], odds: float
) -> None:
    strata = [
        Stratum(count=a, total=a + b, other_count=c, other_total=c + d) for a, b, c, d in tables
    ]
    telling = [s for s in strata if s.tells]
    if not telling:
        assert chance_of_more(strata, odds) == 1
        return
    seen, chance = sum(s.count for s in telling), 0.0
    laws = []
    for s in telling:
        whole, found = s.total + s.other_total, s.count + s.other_count
        law = nchypergeom_fisher(whole, found, s.total, odds)
        low, high = max(0, found - s.other_total), min(s.total, found)
        laws.append([(x, law.pmf(x)) for x in range(low, high + 1)])
    for cases in product(*laws):
        total, weight = sum(x for x, _ in cases), np.prod([p for _, p in cases])
        chance += weight * (1 if total > seen else 0.5 if total == seen else 0)
    assert chance_of_more(strata, odds) == pytest.approx(chance, abs=1e-9)


@given(counts, counts, counts, counts)
def test_one_table_is_fishers_exact_test(a: int, b: int, c: int, d: int) -> None:
    stratum = Stratum(count=a, total=a + b, other_count=c, other_total=c + d)
    if not stratum.tells:
        return
    whole, found = a + b + c + d, a + c
    just = comb(a + b, a) * comb(c + d, c) / comb(whole, found)
    one_sided = fisher_exact([[a, b], [c, d]], alternative="greater").pvalue
    assert chance_of_more([stratum], 1) == pytest.approx(one_sided - just / 2, abs=1e-9)


@given(counts, counts, counts, st.integers(1, 6))
def test_the_ratio_of_one_table_is_its_odds_ratio(a: int, b: int, c: int, d: int) -> None:
    ratio = ratio_of([Stratum(count=a, total=a + b, other_count=c, other_total=c + d)])
    if b * c == 0:
        assert ratio is None
    else:
        table = [[a, b], [c, d]]
        wanted = contingency.odds_ratio(table, kind="sample").statistic
        assert ratio == pytest.approx(wanted)


@pytest.mark.parametrize(
    ("units", "share", "needed"),
    [(30, 0.005, 4), (60, 0.005, 5), (30, 0.01, 5), (60, 0.01, 6), (60, 0.02, 9), (130, 0.01, 9)],
)
def test_the_needed_count_is_the_one_of_scipys_distribution(
    units: int, share: float, needed: int
) -> None:
    def chance(count: int) -> float:
        law = nchypergeom_fisher(100_000 + units, round(100_000 * share) + count, units, 1.5)
        return float(law.sf(count) + law.pmf(count) / 2)

    assert needed_count(units, share) == needed
    assert chance(needed) <= 2e-4 < chance(needed - 1)


def test_twelve_times_as_much_is_seen_from_sixty_units_a_week_at_two_per_cent() -> None:
    assert power(60, 0.02, 12) == pytest.approx(0.968, abs=0.001)
    assert power(130, 0.01, 12) == pytest.approx(0.979, abs=0.001)
    assert power(60, 0.02, 1) < 0.001


@given(units=st.integers(0, 80), share=st.sampled_from((0.005, 0.05, 0.3)))
def test_the_needed_count_is_the_least_that_raises_an_alarm(units: int, share: float) -> None:
    elsewhere = round(100_000 * share)

    def chance(count: int) -> float:
        stratum = Stratum(count=count, total=units, other_count=elsewhere, other_total=100_000)
        return chance_of_more([stratum])

    needed = needed_count(units, share)
    if needed is None:
        assert power(units, share, 12) == 0
        assert units == 0 or chance(units) > 2e-4
    else:
        assert chance(needed) <= 2e-4
        assert needed == 1 or chance(needed - 1) > 2e-4


@pytest.mark.parametrize(
    ("failed", "total", "belief"),
    [
        *((1, 1, 0.044), (2, 2, 0.360), (3, 3, 0.827), (4, 4, 0.969), (5, 5, 0.994)),
        *((4, 5, 0.746), (8, 10, 0.994), (5, 10, 0.053), (20, 25, 1.0), (12, 25, 0.205)),
    ],
)
def test_a_belief_is_the_one_computed_elsewhere(failed: int, total: int, belief: float) -> None:
    assert belief_in_wrong(failed, total) == pytest.approx(belief, abs=6e-4)


@given(total=st.integers(0, 400), part=st.floats(0, 1))
def test_a_belief_is_bayes_over_scipys_distributions(total: int, part: float) -> None:
    failed = round(part * total)
    wrong = WRONG_BEFOREHAND * betabinom.pmf(failed, total, *WRONG)
    right = (1 - WRONG_BEFOREHAND) * betabinom.pmf(failed, total, *RIGHT)
    assert belief_in_wrong(failed, total) == pytest.approx(wrong / (wrong + right), abs=1e-6)


def test_more_than_all_cannot_fail() -> None:
    with pytest.raises(ValueError, match="cannot fail"):
        belief_in_wrong(3, 2)


def test_nothing_was_tested() -> None:
    assert adjust([]) == []
    assert false_discovery_control([0.01]) == pytest.approx(adjust([0.01]))
