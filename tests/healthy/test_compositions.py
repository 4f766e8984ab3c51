"""Several healthy variations at once are healthy too."""

from hypothesis import given, settings
from hypothesis import strategies as st

from closeout.model.verdict import Verdict
from healthy.judged import FEN, judge, judge_on_any, read_unit, shown_refusals
from healthy.variation import Variation, agree, make_all
from healthy.variations import VARIATIONS

AT_ONCE = 3


@st.composite
def compatible(draw: st.DrawFn) -> tuple[Variation, ...]:
    """Variations of which no two touch the same."""
    chosen: list[Variation] = []
    for _ in range(AT_ONCE):
        fitting = [one for one in VARIATIONS if agree((*chosen, one))]
        chosen.append(draw(st.sampled_from(fitting)))
    return tuple(chosen)


@settings(max_examples=15)
@given(variations=compatible())
def test_variations_that_agree_never_hold_a_unit_together(
    variations: tuple[Variation, ...],
) -> None:
    unit = make_all(FEN, variations)
    readout = read_unit(unit)
    own, on_any = judge(unit, readout, unit.order), judge_on_any(unit, readout)
    assert Verdict.HOLD not in {own.verdict, on_any.verdict}
    if not any(variation.undecided for variation in variations):
        assert own.verdict is Verdict.RELEASE, shown_refusals(own)
        assert on_any.verdict is Verdict.RELEASE, shown_refusals(on_any)
