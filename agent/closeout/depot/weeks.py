"""ISO 8601 weeks as texts, `2026-W48`; they sort as they follow one another."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Final

from closeout.model.frozen import frozen

RULE: Final = "a week of ISO 8601 such as 2026-W48"


@frozen
class Weeks:
    """From the first week to the last, both counted in."""

    first: str
    last: str
    count: int

    @property
    def text(self) -> str:
        """`2026-W45 to 2026-W48`."""
        return self.first if self.first == self.last else f"{self.first} to {self.last}"


def week_of(seconds: float) -> str:
    """The week of a time, UTC."""
    return _text(datetime.fromtimestamp(seconds, UTC).date())


def weeks_until(last: str, count: int) -> Weeks:
    """So many weeks up to this one; where fewer there are, all. ValueError where it is no week."""
    monday = _monday(last)
    back = min(count - 1, (monday - date.min).days // 7)
    return Weeks(first=_text(monday - timedelta(weeks=back)), last=last, count=back + 1)


def whole_weeks(now: float, newest: str, count: int) -> Weeks:
    """The last weeks that are over, and none after the newest that reports are of.

    A week that still goes on would be looked at again and again until something shows.
    """
    over = _text(datetime.fromtimestamp(now, UTC).date() - timedelta(weeks=1))
    return weeks_until(min(over, newest) if newest else over, count)


def is_week(text: str) -> bool:
    """Whether the text is a week that there is."""
    try:
        return _text(_monday(text)) == text
    except ValueError:
        return False


def _monday(week: str) -> date:
    year, _, number = week.partition("-W")
    return date.fromisocalendar(int(year), int(number), 1)


def _text(day: date) -> str:
    year, week, _ = day.isocalendar()
    return f"{year:04}-W{week:02}"
