"""Dates of the Gregorian calendar as seconds and days from 1970, which is UTC without leap seconds.

Times are written as ISO 8601 writes them in UTC: `2026-11-25T09:00:00Z`. The counting is our own
and held against `datetime`, which takes as long to load as a unit takes to be judged.
"""

from __future__ import annotations

from typing import Final

from closeout.model.late_pattern import late_pattern

DAY: Final = 86_400
HOUR: Final = 3_600
MINUTE: Final = 60
YEAR: Final = 365
LAST_YEAR: Final = 9999
LENGTHS: Final = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
FEBRUARY: Final = 2
CENTURIES: Final = 400
DAYS_OF_CENTURIES: Final = 146_097
"""The calendar repeats after 400 years."""
EPOCH: Final = 719_162
"""Days from 1 January of the year 1 to that of 1970."""
MOMENT: Final = late_pattern(
    r"([0-9]{4})-([0-9]{2})-([0-9]{2})T([01][0-9]|2[0-3]):([0-5][0-9]):([0-5][0-9])Z"
)


def days_since_1970(year: int, month: int, day: int) -> int | None:
    """Days from 1 January 1970; None where the calendar has no such day."""
    if not (1 <= year <= LAST_YEAR and 1 <= month <= len(LENGTHS)):
        return None
    leap = _is_leap(year)
    if not 1 <= day <= LENGTHS[month - 1] + (leap and month == FEBRUARY):
        return None
    months = sum(LENGTHS[: month - 1]) + (leap and month > FEBRUARY)
    return _days_before(year) + months + day - 1 - EPOCH


def seconds_of(moment: str) -> int | None:
    """Seconds from 1970 to a moment; None where the text is not one."""
    found = MOMENT.fullmatch(moment)
    if found is None:
        return None
    year, month, day, hour, minute, second = map(int, found.groups())
    days = days_since_1970(year, month, day)
    if days is None:
        return None
    return days * DAY + hour * HOUR + minute * MINUTE + second


def is_new_year(seconds: int) -> bool:
    """Whether it is the first of January."""
    days = seconds // DAY + EPOCH
    if not 0 <= days < _days_before(LAST_YEAR + 1):
        return False
    year = days * CENTURIES // DAYS_OF_CENTURIES + 1
    return days in {_days_before(year), _days_before(year + 1)}


def _is_leap(year: int) -> bool:
    return year % 4 == 0 and (year % 100 != 0 or year % CENTURIES == 0)


def _days_before(year: int) -> int:
    """Days from 1 January of the year 1 to that of the year."""
    years = year - 1
    return years * YEAR + years // 4 - years // 100 + years // CENTURIES
