"""Radio rules out of netlink dumps: built, drawn, cut, and one that Linux 6.12 answered with."""

import base64
from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.failure import DecodeError
from closeout.decode.radio_rules import (
    Domain,
    Rule,
    bands_of,
    decode_radio_rules,
    listen_only_bands_of,
)
from strategies.netlink import attribute, domain, done, generic, message, number, rule

ANSWERED = base64.b64decode(
    "AAIAACMAAgAjAAAAhwEAAB8BAAAHACEAMDAAAOQBIgA8AAAACAABAAAAAAAIAAIA0KYkAAgAAwBAuCUACAAEAECc"
    "AAAIAAUAWAIAAAgABgDQBwAACAAHAAAAAAA8AAEACAABAIAIAAAIAAIAqH0lAAgAAwBQ3yUACAAEACBOAAAIAAUA"
    "WAIAAAgABgDQBwAACAAHAAAAAAA8AAIACAABAIEAAAAIAAIAEMAlAAgAAwAwDiYACAAEACBOAAAIAAUAWAIAAAgA"
    "BgDQBwAACAAHAAAAAAA8AAMACAABAIAIAAAIAAIAUONOAAgAAwDQG1AACAAEAIA4AQAIAAUAWAIAAAgABgDQBwAA"
    "CAAHAAAAAAA8AAQACAABAJAIAAAIAAIA0BtQAAgAAwBQVFEACAAEAIA4AQAIAAUAWAIAAAgABgDQBwAACAAHAAAA"
    "AAA8AAUACAABAJAAAAAIAAIAUMVTAAgAAwDQblcACAAEAABxAgAIAAUAWAIAAAgABgDQBwAACAAHAAAAAAA8AAYA"
    "CAABAIAAAAAIAAIAWIJXAAgAAwD4CFkACAAEAIA4AQAIAAUAWAIAAAgABgDQBwAACAAHAAAAAAA8AAcACAABAAAA"
    "AAAIAAIAwGlpAwgAAwBASswDCAAEAID1IAAIAAUAAAAAAAgABgAAAAAACAAHAAAAAAAUAAAAAwACACMAAACHAQAA"
    "AAAAAA=="
)
"""Asked of Linux 6.12 (Debian 13) with one radio of mac80211_hwsim."""
SAID = (
    (2402, 2472, False),
    (2457, 2482, True),
    (2474, 2494, True),
    (5170, 5250, True),
    (5250, 5330, True),
    (5490, 5730, True),
    (5735, 5835, True),
    (57240, 63720, False),
)
"""What `iw reg get` (iw 6.9) said at the same time: MHz from and to, and PASSIVE-SCAN."""


def test_the_answer_of_a_kernel_is_what_iw_says_of_it() -> None:
    rules = tuple(
        Rule(start_khz=start * 1000, end_khz=end * 1000, listen_only=passive)
        for start, end, passive in SAID
    )
    assert decode_radio_rules(ANSWERED) == (Domain(country="00", rules=rules),)
    assert bands_of(rules) == ("2.4 GHz", "5 GHz")
    assert listen_only_bands_of(rules) == ("5 GHz",)


khz = st.integers(min_value=0, max_value=2**32 - 1)
rules = st.builds(Rule, start_khz=khz, end_khz=khz, listen_only=st.booleans())
countries = st.text("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789", min_size=2, max_size=2)
domains = st.builds(
    Domain,
    country=countries,
    rules=st.lists(rules, max_size=5).map(tuple),
    radio=st.none() | st.integers(0, 2**32 - 1),
)


def built(told: Domain) -> bytes:
    listed = [rule(one.start_khz, one.end_khz, one.listen_only << 7) for one in told.rules]
    return domain(told.country, listed, told.radio)


@given(st.lists(domains, max_size=4))
def test_what_is_built_is_read_back(told: list[Domain]) -> None:
    raw = b"".join(built(one) for one in told) + done()
    assert decode_radio_rules(raw) == tuple(told)


@given(st.binary(max_size=200))
def test_any_bytes_give_domains_or_one_error(raw: bytes) -> None:
    with suppress(DecodeError):
        decode_radio_rules(raw)


@given(st.data())
def test_a_damaged_answer_gives_domains_or_one_error(data: st.DataObject) -> None:
    damaged = bytearray(ANSWERED)
    at = data.draw(st.integers(0, len(damaged) - 1))
    damaged[at] = data.draw(st.integers(0, 255))
    with suppress(DecodeError):
        decode_radio_rules(bytes(damaged))


@given(st.integers(min_value=1, max_value=len(ANSWERED) - 1))
def test_an_answer_that_is_cut_never_gives_other_rules(length: int) -> None:
    try:
        found = decode_radio_rules(ANSWERED[:length])
    except DecodeError:
        return
    assert found == decode_radio_rules(ANSWERED)[: len(found)]


@pytest.mark.parametrize(
    ("raw", "wrong"),
    [
        (domain("D"), "not two letters"),
        (domain("\x1b["), "not two letters"),
        (domain("DE", [number(2, 1)]), "no range"),
        (domain("DE", [attribute(2, b"\1") + number(3, 1)]), "4 are wanted"),
        (message(0x23, b"\1"), "cut off"),
        (message(0x23, generic(31, b"")), "not two letters"),
    ],
)
def test_what_is_no_domain_is_refused(raw: bytes, wrong: str) -> None:
    with pytest.raises(DecodeError, match=wrong):
        decode_radio_rules(raw)


def test_a_band_is_open_where_one_of_its_rules_lets_the_unit_send_first() -> None:
    mixed = (
        Rule(start_khz=5_170_000, end_khz=5_250_000, listen_only=False),
        Rule(start_khz=5_490_000, end_khz=5_730_000, listen_only=True),
        Rule(start_khz=5_925_000, end_khz=7_125_000, listen_only=True),
    )
    assert bands_of(mixed) == ("5 GHz", "6 GHz")
    assert listen_only_bands_of(mixed) == ("6 GHz",)
    assert bands_of(()) == listen_only_bands_of(()) == ()
