"""At least fifty healthy variations: none holds a unit, on its own profile or on any notebook's."""

import pytest

from closeout.model.reading import Unreadable
from closeout.model.verdict import Verdict
from healthy import varied_outside
from healthy.judged import FEN, OTHERS, judge, judge_on_any, read_unit, shown_refusals
from healthy.shown_unit import NotShownError
from healthy.variation import Variation
from healthy.variations import VARIATIONS

pytestmark = pytest.mark.unmeasured


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


@pytest.mark.parametrize("name", OTHERS)
def test_no_variation_holds_another_unit_on_any_notebooks_profile(name: str) -> None:
    """Those that the unit can show; what is not there cannot be varied."""
    verdicts: dict[str, Verdict] = {}
    for variation in VARIATIONS:
        try:
            unit = variation.change(OTHERS[name])
        except NotShownError:
            continue
        verdicts[variation.name] = judge_on_any(unit, read_unit(unit)).verdict
    allowed = {variation.name for variation in VARIATIONS if variation.undecided}
    others = {name for name, verdict in verdicts.items() if verdict is not Verdict.RELEASE}
    assert others <= allowed
    assert Verdict.HOLD not in verdicts.values()
    assert len(verdicts) > 60


@pytest.mark.parametrize("variation", varied_outside.VARIATIONS, ids=by_name)
def test_what_stands_around_the_unit_is_seen_and_is_read(variation: Variation) -> None:
    """Else its variation would prove nothing: there are more devices, none of them unreadable."""
    before = read_unit(FEN).inventory
    after = read_unit(variation.change(FEN)).inventory
    counts = [
        (len(section.devices), len(after.section(section.kind).devices))
        for section in before.sections
    ]
    assert all(old <= new for old, new in counts)
    assert any(old < new for old, new in counts)
    assert [
        section.kind for section in after.sections if isinstance(section.listing, Unreadable)
    ] == [section.kind for section in before.sections if isinstance(section.listing, Unreadable)]
