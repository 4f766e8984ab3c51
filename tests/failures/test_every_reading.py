"""Every reading of a whole unit, failed in every way: nothing passes that rests on it alone.

`make failures` does the same to every unit of the demo, in every way.
"""

import pytest

from closeout.kernel.recorded import NOT_RECORDED
from failures.absence import load_absence
from failures.findings_of_failures import NOT_THERE, Tried, fail_every_reading
from failures.rejudged_unit import whole_units
from failures.ways_to_fail import EVERY_CHANGE, LEFT_OUT, WayToFail

pytestmark = pytest.mark.unmeasured

WHOLE = next(iter(whole_units()))
"""The one whose every must is met: whatever changes there is seen."""


@pytest.fixture(scope="module", params=EVERY_CHANGE, ids=lambda way: way.name)
def way(request: pytest.FixtureRequest) -> WayToFail:
    """One way to fail."""
    chosen: WayToFail = request.param
    return chosen


@pytest.fixture(scope="module")
def tried(way: WayToFail) -> Tried:
    """All readings of the unit failed in this way, one after the other."""
    return fail_every_reading(WHOLE, way, NOT_RECORDED)


def test_no_reader_falls_over_it(tried: Tried, way: WayToFail) -> None:
    assert tried.faults == ()
    assert tried.readings > (800 if way is not LEFT_OUT else 50)


def test_nothing_passes_that_rests_on_it_alone(tried: Tried, way: WayToFail) -> None:
    """But what asks for absence, where the reading says that there is none."""
    allowed = load_absence() if way.says_absent else frozenset()
    assert [each for each in tried.unsupported if each.rule not in allowed] == []


def test_nothing_passes_that_did_not_before(tried: Tried, way: WayToFail) -> None:
    allowed = load_absence() if way.says_absent else frozenset()
    assert [each for each in tried.turned if each.rule not in allowed] == []


def test_readers_that_look_elsewhere_then_find_nothing_there_either(way: WayToFail) -> None:
    """What they ask in its place was never recorded: here it is not there."""
    tried = fail_every_reading(WHOLE, way, NOT_THERE)
    assert tried.faults == ()
    allowed = load_absence() if way.says_absent else frozenset()
    assert [each for each in (*tried.unsupported, *tried.turned) if each.rule not in allowed] == []


def test_the_whole_unit_is_released_before_anything_fails() -> None:
    assert all(finding.outcome.value == "pass" for finding in WHOLE.musts())
    assert len(WHOLE.musts()) > 15
