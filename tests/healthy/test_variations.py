"""At least fifty healthy variations: none holds a unit, on its own profile or on any notebook's."""

import pytest

from closeout.model.verdict import Verdict
from healthy.judged import FEN, judge, judge_on_any, read_unit, shown_refusals
from healthy.variation import Variation
from healthy.variations import VARIATIONS


def by_name(variation: Variation) -> str:
    return variation.name


def test_there_are_fifty_and_each_has_a_name() -> None:
    assert len({variation.name for variation in VARIATIONS}) == len(VARIATIONS) >= 50


def test_the_unit_is_released_as_it_was_recorded() -> None:
    readout = read_unit(FEN)
    assert judge(FEN, readout, FEN.order).verdict is Verdict.RELEASE
    assert judge_on_any(FEN, readout).verdict is Verdict.RELEASE


@pytest.mark.parametrize("variation", VARIATIONS, ids=by_name)
def test_a_variation_is_as_healthy_as_the_unit(variation: Variation) -> None:
    unit = variation.change(FEN)
    assert unit != FEN
    readout = read_unit(unit)
    own, on_any = judge(unit, readout, unit.order), judge_on_any(unit, readout)
    wanted = Verdict.UNDECIDED if variation.undecided else Verdict.RELEASE
    assert own.verdict is wanted, shown_refusals(own)
    assert on_any.verdict is not Verdict.HOLD, shown_refusals(on_any)
    assert on_any.verdict is Verdict.RELEASE or variation.undecided, shown_refusals(on_any)
