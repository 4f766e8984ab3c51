"""The reference time that is typed in, which the unit's own clock is held against."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import Final

from closeout.cli.trouble import InputTroubleError
from closeout.model.moment import Moment, ReferenceTime

TYPED: Final = "typed in"
LONGEST_SOURCE: Final = 100
FIRST_YEAR: Final = 2020
LAST_YEAR: Final = 2099
EXAMPLE: Final = "2026-11-25T09:00:00Z"
MICROSECOND: Final = 1000


def add_reference_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds the time and its source."""
    parser.add_argument(
        "--reference-time",
        metavar="TIME",
        help=f"the right time now, {EXAMPLE}, to hold the unit's clock against",
    )
    parser.add_argument(
        "--time-source",
        metavar="TEXT",
        help=f"where that time comes from: 'station clock' (else: {TYPED})",
    )


def read_references(
    options: argparse.Namespace, clock: Callable[[], int]
) -> tuple[ReferenceTime, ...]:
    """What was typed, taken at this moment of the monotonic clock; nothing where nothing was.

    Raises InputTroubleError where it is no such time, or where nothing is read now that it could
    be the right time of.
    """
    taken_at = clock() // MICROSECOND
    typed, source = options.reference_time, options.time_source
    if typed is None:
        if source is not None:
            raise InputTroubleError("--time-source names where --reference-time comes from")
        return ()
    if options.root is not None or getattr(options, "evidence", None):
        raise InputTroubleError(
            "--reference-time is the time at which the unit is read; a folder or a recording was"
            " read before"
        )
    moment = Moment(text=_read_time(typed), source=_read_source(source))
    return (ReferenceTime(moment=moment, taken_at_microseconds=taken_at),)


def _read_time(typed: str) -> str:
    from datetime import UTC, datetime  # noqa: PLC0415 - only where a time is typed in

    try:
        found = datetime.fromisoformat(typed)
    except ValueError:
        found = None
    if found is None or found.tzinfo is None:
        raise InputTroubleError(
            f"--reference-time: a time with its zone is wanted, such as {EXAMPLE}"
        )
    earliest, latest = (datetime(year, 1, 1, tzinfo=UTC) for year in (FIRST_YEAR, LAST_YEAR + 1))
    if not earliest <= found < latest:
        raise InputTroubleError(
            f"--reference-time: years from {FIRST_YEAR} to {LAST_YEAR} are allowed"
        )
    return found.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def _read_source(source: str | None) -> str:
    if source is None:
        return TYPED
    if not source.strip() or len(source) > LONGEST_SOURCE or not source.isprintable():
        raise InputTroubleError(
            f"--time-source: one line of at most {LONGEST_SOURCE} characters is wanted"
        )
    return source.strip()
