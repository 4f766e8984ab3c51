"""Check values: bits by IEEE 802-2014, clause 8; forms of unprogrammed cards by common practice."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from closeout.decode.mac import MacForm, describe_mac

octets = st.binary(min_size=6, max_size=6)


def written(raw: bytes, separator: str = ":") -> str:
    return raw.hex(separator)


@pytest.mark.parametrize(
    ("text", "form"),
    [
        ("00:11:22:33:44:55", MacForm.SEQUENCE),
        ("ac:de:48:00:11:22", MacForm.SAMPLE),
        ("02:fc:00:00:00:01", MacForm.LOCAL),
        ("da:a1:19:00:00:01", MacForm.LOCAL),
        ("01:00:5e:00:00:fb", MacForm.GROUP),
        ("ff:ff:ff:ff:ff:ff", MacForm.BROADCAST),
        ("00:00:00:00:00:00", MacForm.ZERO),
        ("00:00:5e:00:53:af", MacForm.SAMPLE),
        ("3c:52:82:12:34:56", MacForm.SEQUENCE),
        ("3c:52:82:00:00:00", MacForm.EMPTY_STATION),
        ("3c:52:82:ff:ff:ff", MacForm.EMPTY_STATION),
        ("44:44:44:44:44:44", MacForm.SEQUENCE),
        ("3c:52:82:6d:01:9a", MacForm.UNIVERSAL),
        ("3C-52-82-6D-01-9A\n", MacForm.UNIVERSAL),
    ],
)
def test_known_addresses(text: str, form: MacForm) -> None:
    assert describe_mac(text) is form


@pytest.mark.parametrize(
    "text", ["", "3c:52:82:6d:01", "3c:52:82:6d:01:9a:00", "3c:52-82:6d:01:9a", "3c52826d019a"]
)
def test_other_texts_are_no_address(text: str) -> None:
    assert describe_mac(text) is MacForm.MALFORMED


@given(octets)
def test_the_group_bit_is_never_missed(raw: bytes) -> None:
    form = describe_mac(written(bytes([raw[0] | 0x01]) + raw[1:]))
    assert form in {MacForm.GROUP, MacForm.BROADCAST}


@given(octets)
def test_the_local_bit_is_never_missed(raw: bytes) -> None:
    assert describe_mac(written(bytes([raw[0] & 0xFE | 0x02]) + raw[1:])) is MacForm.LOCAL


@given(octets, st.sampled_from(":-"))
def test_a_universal_address_has_neither_bit(raw: bytes, separator: str) -> None:
    assume(describe_mac(written(raw, separator)) is MacForm.UNIVERSAL)
    assert raw[0] & 0x03 == 0


@given(st.integers(min_value=0, max_value=0xFFFFFF))
def test_few_stations_of_a_real_block_are_called_unprogrammed(station: int) -> None:
    """At most a few dozen of 16.7 million; a drawn one that is must look like it."""
    form = describe_mac(written(bytes.fromhex("3c5282") + station.to_bytes(3, "big")))
    if form is not MacForm.UNIVERSAL:
        assert form in {MacForm.SEQUENCE, MacForm.EMPTY_STATION}


@given(st.text())
def test_any_text_gives_a_form(text: str) -> None:
    assert describe_mac(text) in MacForm
