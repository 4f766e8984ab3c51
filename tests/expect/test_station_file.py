"""The public record of a station: written, read back, and every mistake in it told."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.expect.mistake import Mistakes
from closeout.expect.station_file import is_day, parse_station, write_station
from closeout.model.frozen import replace
from closeout.model.station import Revocation, Station
from closeout.report.seal import from_base64url, to_base64url

KEY = "11qYAYKxCrfVS_7TyWQHOg7hcvPapiMlrwIaaPcHURo"
STATION = Station(code="B-07", key=KEY, first_day="2026-11-29", last_day="2027-11-29")
SMALL_ORDERS = (
    "0000000000000000000000000000000000000000000000000000000000000000",
    "0100000000000000000000000000000000000000000000000000000000000000",
    "26e8958fc2b227b045c3f489f2ef98f0d5dfac05d3c63339b13802886d53fc05",
    "c7176a703d4dd84fba3c0b760d10670f2a2053fa2c39ccc64ec7fd7792ac037a",
    "ecffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff7f",
    "edffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff7f",
    "eeffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff7f",
)
"""The points whose order divides eight, the last two not as RFC 8032 writes them."""
DAYS = st.dates().map(date.isoformat)
REASONS = st.text(st.characters(categories=("L", "N", "P", "S")), min_size=1, max_size=100)
TEXT = write_station(STATION)


def is_sound(key: str) -> bool:
    raw = from_base64url(key)
    return (raw[:-1] + bytes([raw[-1] & 127])).hex() not in SMALL_ORDERS


@given(
    code=st.from_regex(r"[A-Za-z0-9][A-Za-z0-9._-]{0,39}", fullmatch=True),
    key=st.binary(min_size=32, max_size=32).map(to_base64url).filter(is_sound),
    days=st.tuples(DAYS, DAYS).map(sorted),
    revoked=st.none() | st.builds(Revocation, on=DAYS, reason=REASONS),
)
def test_what_is_written_is_read_back(
    code: str, key: str, days: list[str], revoked: Revocation | None
) -> None:
    station = Station(code=code, key=key, first_day=days[0], last_day=days[1], revoked=revoked)
    assert parse_station("s.toml", write_station(station).encode()) == station


@pytest.mark.parametrize("point", SMALL_ORDERS)
@pytest.mark.parametrize("sign", [0, 128])
def test_a_key_that_needs_no_private_one_is_none(point: str, sign: int) -> None:
    raw = bytes.fromhex(point)
    key = to_base64url(raw[:-1] + bytes([raw[-1] | sign]))
    found = parse_station("s.toml", write_station(replace(STATION, key=key)).encode())
    assert isinstance(found, Mistakes)
    assert "key: a key that anybody can seal with" in found.found[0].show()


@given(raw=st.binary(max_size=300))
def test_any_bytes_are_a_station_or_mistakes(raw: bytes) -> None:
    assert isinstance(parse_station("s.toml", raw), Station | Mistakes)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("station = 1", "station = 2", "station"),
        ("station = 1\n", "", "station"),
        ('code = "B-07"\n', "", "code: missing"),
        ('"B-07"', '"B 07"', "code: 'B 07' is not allowed; allowed: letters"),
        ('"B-07"', "7", "code: text is wanted"),
        (STATION.key, STATION.key[:-1], "key: "),
        (STATION.key, STATION.key[:-1] + "B", "key: not 32 bytes"),
        (STATION.key, "+" * 43, "key: "),
        ("2026-11-29", "2026-02-29", "first_day: the calendar has no '2026-02-29'"),
        ("2026-11-29", "29.11.2026", "first_day: '29.11.2026' is not allowed; allowed: a day"),
        ('"2026-11-29"', "2026-11-29", "first_day: "),
        ("2027-11-29", "2026-11-28", "last_day: before first_day, 2026-11-29"),
        ('last_day = "2027-11-29"\n', "", "last_day: missing"),
        ("station = 1", 'station = 1\ncolour = "red"', "colour: no such key"),
        ("station = 1", "station = 1\nrevoked = 1", "revoked: "),
    ],
)
def test_every_mistake_is_told_at_its_place(old: str, new: str, told: str) -> None:
    assert old in TEXT
    found = parse_station("s.toml", TEXT.replace(old, new).encode())
    assert isinstance(found, Mistakes)
    assert len(found.found) == 1
    assert found.show().partition(": ")[2].startswith(told)
    assert found.show().startswith("s.toml")


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('on = "2027-02-01"\n', "", "revoked.on: missing"),
        ("2027-02-01", "2027-02-30", "revoked.on: the calendar has no"),
        ('reason = "lost"\n', "", "revoked.reason: missing"),
        ('"lost"', '" "', "revoked.reason: text is wanted"),
        ('"lost"', '"lost"\nby = "L1"', "revoked.by: no such key"),
    ],
)
def test_a_revocation_is_whole(old: str, new: str, told: str) -> None:
    revoked = replace(STATION, revoked=Revocation(on="2027-02-01", reason="lost"))
    text = write_station(revoked)
    assert old in text
    found = parse_station("s.toml", text.replace(old, new).encode())
    assert isinstance(found, Mistakes)
    assert found.show().partition(": ")[2].startswith(told)


@given(text=st.text(max_size=12) | DAYS)
def test_a_day_is_what_the_standard_library_takes_for_one(text: str) -> None:
    try:
        is_one = date.fromisoformat(text).isoformat() == text
    except ValueError:
        is_one = False
    assert is_day(text) == is_one
