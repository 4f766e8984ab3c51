"""A station: a work place with a key that its reports are sealed with."""

from __future__ import annotations

from enum import Enum

from closeout.model.frozen import frozen


@frozen
class Revocation:
    """From which day on a key proves nothing any more, and why."""

    on: str
    reason: str


@frozen
class Station:
    """The public record of a station; days are written as ISO 8601 writes them.

    `key` is the public Ed25519 key, "x" of RFC 8037: 32 bytes as base64url without padding.
    """

    code: str
    key: str
    first_day: str
    last_day: str
    revoked: Revocation | None = None


class Standing(Enum):
    """Whether a station may have sealed a report of a day."""

    VALID = "valid"
    TOO_EARLY = "too early"
    TOO_LATE = "too late"
    REVOKED = "revoked"
    REVOKED_SINCE = "revoked since"
    """The report is of a day before that of the revocation, by the clock that is in it."""


def standing_on(station: Station, day: str) -> Standing:
    """What holds for a report of that day (ISO 8601; its order is that of the text)."""
    if station.revoked:
        return Standing.REVOKED if day >= station.revoked.on else Standing.REVOKED_SINCE
    if day < station.first_day:
        return Standing.TOO_EARLY
    if day > station.last_day:
        return Standing.TOO_LATE
    return Standing.VALID
