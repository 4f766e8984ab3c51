"""The times that reports name, as numbers and as the days, weeks and months that are counted by."""

from __future__ import annotations

from datetime import UTC, datetime

from closeout.depot.weeks import week_of
from closeout.model.frozen import frozen
from closeout.report.fields import Fields


@frozen
class Dated:
    """A time: whole seconds since 1970, its day, week and month (ISO 8601, UTC), its source."""

    seconds: int
    day: str
    week: str
    month: str
    source: str


def read_moment(moment: Fields) -> Dated:
    """The time in its object; ReportError where its text is no time of ISO 8601."""
    try:
        found = datetime.fromisoformat(moment.text("text"))
        found = found.replace(tzinfo=found.tzinfo or UTC).astimezone(UTC)
    except (ValueError, OverflowError):
        raise moment.complaint("text", "a time as 2026-11-29T10:00:00Z was expected") from None
    return Dated(
        seconds=int(found.timestamp()),
        day=found.strftime("%Y-%m-%d").zfill(10),
        week=week_of(found.timestamp()),
        month=found.strftime("%Y-%m").zfill(7),
        source=moment.text("source"),
    )
