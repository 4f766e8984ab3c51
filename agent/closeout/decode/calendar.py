"""Dates of the Gregorian calendar as seconds and days from 1970, which is UTC without leap seconds.

Times are written as ISO 8601 writes them in UTC: `2026-11-25T09:00:00Z`.
"""

from __future__ import annotations

from datetime import date
from typing import Final

from closeout.model.late_pattern import late_pattern

DAY: Final = 86_400
HOUR: Final = 3_600
MINUTE: Final = 60
EPOCH: Final = date(1970, 1, 1).toordinal()
LAST_DAY: Final = date.max.toordinal() - EPOCH
MOMENT: Final = late_pattern(
    r"([0-9]{4})-([0-9]{2})-([0-9]{2})T([01][0-9]|2[0-3]):([0-5][0-9]):([0-5][0-9])Z"
)


def days_since_1970(year: int, month: int, day: int) -> int | None:
    """Days from 1 January 1970; None where the calendar has no such day."""
    try:
        return date(year, month, day).toordinal() - EPOCH
    except ValueError:
        return None


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
    days = seconds // DAY
    if not -EPOCH < days <= LAST_DAY:
        return False
    found = date.fromordinal(days + EPOCH)
    return (found.month, found.day) == (1, 1)
