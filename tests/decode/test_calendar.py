"""Dates as seconds from 1970, held against the standard library."""

from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.calendar import days_since_1970, is_new_year, seconds_of

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


@given(st.datetimes())
def test_a_moment_is_so_many_seconds_from_1970(drawn: datetime) -> None:
    moment = drawn.replace(microsecond=0, tzinfo=UTC)
    text = f"{moment:%Y}".zfill(4) + f"{moment:-%m-%dT%H:%M:%SZ}"
    found = seconds_of(text)
    assert found is not None
    assert EPOCH + timedelta(seconds=found) == moment
    assert is_new_year(found) == ((moment.month, moment.day) == (1, 1))


@given(st.dates())
def test_days_are_counted(drawn: date) -> None:
    assert days_since_1970(drawn.year, drawn.month, drawn.day) == (drawn - date(1970, 1, 1)).days


def test_every_day_around_leap_years_and_centuries() -> None:
    for year in (1, 4, 100, 400, 1899, 1900, 1970, 1999, 2000, 2023, 2024, 2100, 9999):
        for month in range(14):
            for day in range(33):
                try:
                    known = (date(year, month, day) - date(1970, 1, 1)).days
                except ValueError:
                    known = None
                found = days_since_1970(year, month, day)
                assert found == known, (year, month, day)
                if found is not None:
                    assert is_new_year(found * 86_400) == ((month, day) == (1, 1))


@pytest.mark.parametrize("year", [-1, 0, 10_000])
def test_a_year_that_the_calendar_does_not_have(year: int) -> None:
    assert days_since_1970(year, 1, 1) is None


@pytest.mark.parametrize(
    "text",
    [
        "",
        "2026-02-30T00:00:00Z",
        "2026-11-25T24:00:00Z",
        "2026-11-25T09:60:00Z",
        "2026-11-25T09:00:60Z",
        "2026-11-25T09:00:00",
        "2026-11-25T09:00:00+00:00",
        "2026-11-25 09:00:00Z",
        "0000-01-01T00:00:00Z",
    ],
)
def test_what_is_no_moment_is_none(text: str) -> None:
    assert seconds_of(text) is None


@given(st.integers())
def test_any_number_of_seconds_can_be_asked(seconds: int) -> None:
    assert is_new_year(seconds) in {True, False}


def test_worked_values() -> None:
    assert seconds_of("1970-01-01T00:00:00Z") == 0
    assert seconds_of("2026-11-20T09:10:40Z") == 1795165840
    assert days_since_1970(2023, 2, 29) is None
    assert is_new_year(946684800 + 7)
    assert not is_new_year(1 << 60)
