"""Whether a station may have sealed a report of a day."""

import pytest

from closeout.model.station import Revocation, Standing, Station, standing_on

VALID = Station(code="B-07", key="x" * 43, first_day="2026-11-29", last_day="2027-11-29")
REVOKED = Station(
    code="B-07",
    key="x" * 43,
    first_day="2026-11-29",
    last_day="2027-11-29",
    revoked=Revocation(on="2027-02-01", reason="stick lost"),
)


@pytest.mark.parametrize(
    ("station", "day", "standing"),
    [
        (VALID, "2026-11-28", Standing.TOO_EARLY),
        (VALID, "2026-11-29", Standing.VALID),
        (VALID, "2027-11-29", Standing.VALID),
        (VALID, "2027-11-30", Standing.TOO_LATE),
        (REVOKED, "2027-01-31", Standing.REVOKED_SINCE),
        (REVOKED, "2027-02-01", Standing.REVOKED),
        (REVOKED, "2029-01-01", Standing.REVOKED),
    ],
)
def test_standing(station: Station, day: str, standing: Standing) -> None:
    assert standing_on(station, day) is standing
