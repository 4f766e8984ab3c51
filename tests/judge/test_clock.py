"""Clocks held against a reference time: right, in a zone, reset, wrong, or nobody can say."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.calendar import seconds_of
from closeout.expect.catalogue import load_catalogue
from closeout.judge.clock import MOST_QUARTERS, TOLERANCE, hold_clocks, judge_shown, show_offset
from closeout.judge.demands import judge_expectation
from closeout.model.catalogue import Catalogue
from closeout.model.clock import Clock
from closeout.model.expectation import Expectation, OneOf, Weight
from closeout.model.finding import Finding, Outcome
from closeout.model.moment import Moment, ReferenceTime
from closeout.model.reading import Absent, Unreadable, Value
from strategies.devices import DENIED, device, inventory

NOON = 1795176000
assert seconds_of("2026-11-20T12:00:00Z") == NOON
STATION = ReferenceTime(
    moment=Moment(text="2026-11-20T12:00:00Z", source="station clock"),
    taken_at_microseconds=50_000_000,
)
WAITING = Unreadable(error="NO_REFERENCE", advice="give a reference time", sources=("tick",))
NEVER = Unreadable(error="EINVAL", advice="no valid date", sources=("tick",))
FIRMWARE = "09/14/2026"
KEPT = Expectation(
    kind="clock",
    attribute="kept_time",
    demand=OneOf(values=("universal", "local")),
    weight=Weight.SHOULD,
    where=(),
    review_only=False,
    external_counts=False,
    origin="a test",
)


def held(
    shown: object,
    *references: ReferenceTime,
    firmware: object = FIRMWARE,
    read_at: object = 53_000_000,
) -> Clock:
    clock = device(
        "clock",
        since_epoch_seconds=shown,
        read_at_microseconds=read_at,
        kept_time=WAITING,
        local_offset=WAITING,
        error_seconds=WAITING,
        reference=WAITING,
    )
    whole = hold_clocks(inventory(device("bios", date=firmware), clock), references)
    (found,) = whole.section("clock").devices
    assert isinstance(found, Clock)
    return found


def told(clock: Clock) -> tuple[object, object, object]:
    readings = (clock.kept_time, clock.local_offset, clock.error_seconds)
    kept, offset, error = (
        found.value if isinstance(found, Value) else type(found) for found in readings
    )
    return kept, offset, error


def finding(clock: Clock) -> Finding:
    entries = load_catalogue().entries
    catalogue = Catalogue(version="1", entries=entries)
    (found,) = judge_expectation(inventory(clock), KEPT, catalogue)
    return found


def test_the_moment_of_reading_counts_not_the_moment_of_typing() -> None:
    clock = held(NOON + 3, STATION)
    assert told(clock) == ("universal", "+00:00", 0)
    assert clock.reference == Value(value="2026-11-20T12:00:00Z, station clock", sources=("drawn",))
    assert finding(clock).outcome is Outcome.PASS


@pytest.mark.parametrize(
    ("hours", "offset"), [(2, "+02:00"), (-9.5, "-09:30"), (5.75, "+05:45"), (14, "+14:00")]
)
def test_local_time_is_no_fault(hours: float, offset: str) -> None:
    clock = held(NOON + 3 + int(hours * 3600) - 7, STATION)
    assert told(clock) == ("local", offset, 7)
    assert finding(clock).outcome is Outcome.PASS


def test_minutes_that_no_zone_explains_are_wrong() -> None:
    clock = held(NOON + 3 + 600, STATION)
    assert told(clock) == ("wrong", Absent, 600)
    assert finding(clock).outcome is Outcome.FAIL


def test_farther_than_any_zone_is_wrong() -> None:
    assert told(held(NOON + 3 + 15 * 3600, STATION)) == ("wrong", Absent, 15 * 3600)


@pytest.mark.parametrize("references", [(), (STATION,)])
def test_before_its_own_firmware_the_clock_was_reset(references: tuple[ReferenceTime, ...]) -> None:
    clock = held(seconds_of("2015-03-04T00:00:00Z"), *references)
    assert told(clock)[0] == "reset"
    assert "drawn" in clock.kept_time.sources
    assert finding(clock).outcome is Outcome.FAIL


def test_a_firmware_date_after_the_reference_proves_nothing() -> None:
    assert told(held(NOON, STATION, firmware="01/01/2099"))[0] == "universal"


@pytest.mark.parametrize("date", ["", "2026-09-14", "13/40/2026", DENIED])
def test_without_a_firmware_date_the_first_of_january_tells_a_reset(date: object) -> None:
    clock = held(seconds_of("2020-01-01T00:03:00Z"), STATION, firmware=date)
    assert told(clock)[0] == "first of January"
    assert told(held(seconds_of("2020-01-01T00:03:00Z"), firmware=date))[0] is Unreadable


def test_two_digits_of_a_year_are_of_the_last_century() -> None:
    assert told(held(seconds_of("1998-01-05T00:00:00Z"), firmware="09/14/99"))[0] == "reset"


def test_without_a_reference_nothing_passes() -> None:
    clock = held(NOON)
    for reading in (clock.kept_time, clock.local_offset, clock.error_seconds, clock.reference):
        assert reading == WAITING
    found = finding(clock)
    assert (found.outcome, found.answerable) == (Outcome.UNREAD, True)


def test_an_impossible_date_is_told() -> None:
    clock = held(NEVER, STATION)
    assert told(clock) == ("not a date", Unreadable, Unreadable)
    assert finding(clock).outcome is Outcome.FAIL


def test_a_clock_that_cannot_be_read_is_not_judged() -> None:
    clock = held(DENIED, STATION)
    assert (clock.kept_time, clock.error_seconds) == (DENIED, DENIED)


def test_a_clock_read_at_no_known_moment_is_not_judged() -> None:
    clock = held(NOON, STATION, read_at=DENIED)
    assert isinstance(clock.kept_time, Unreadable)
    assert clock.kept_time.error == "MOMENT_UNKNOWN"


def test_a_reference_that_is_no_time_says_so() -> None:
    broken = ReferenceTime(
        moment=Moment(text="noon", source="a wall clock"), taken_at_microseconds=0
    )
    clock = held(NOON, broken)
    assert isinstance(clock.kept_time, Unreadable)
    assert clock.kept_time.error == "MALFORMED"


def test_the_first_reference_counts() -> None:
    later = ReferenceTime(
        moment=Moment(text="2027-11-20T12:00:00Z", source="stick"), taken_at_microseconds=0
    )
    assert told(held(NOON + 3, STATION, later))[0] == "universal"


@given(
    st.integers(1_600_000_000, 4_000_000_000),
    st.integers(-MOST_QUARTERS, MOST_QUARTERS),
    st.integers(-TOLERANCE, TOLERANCE),
)
def test_any_zone_is_told_from_any_slip(right: int, quarters: int, slip: int) -> None:
    judged = judge_shown(right + quarters * 900 + slip, right, None)
    assert (judged.quarters, judged.error) == (quarters, abs(slip))
    assert judged.kept == ("local" if quarters else "universal")


@given(st.integers(-MOST_QUARTERS, MOST_QUARTERS))
def test_a_zone_is_written_as_it_is_read(quarters: int) -> None:
    text = show_offset(quarters)
    hours, minutes = int(text[1:3]), int(text[4:])
    assert (hours * 60 + minutes) * (-1 if text[0] == "-" else 1) == quarters * 15


def test_other_devices_stay_as_they_are() -> None:
    whole = inventory(device("bios", date=FIRMWARE), device("battery"))
    assert hold_clocks(whole, (STATION,)) == whole
