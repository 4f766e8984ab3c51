"""Answers of libraries: what is understood, and that anything else is one named error."""

import json
from collections.abc import Callable
from contextlib import suppress
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.failure import DecodeError
from closeout.decode.second_opinions import (
    decode_charge,
    decode_disks,
    decode_hardware_addresses,
    decode_memory_total,
    decode_processor_brand,
    decode_sensors,
)

DECODERS = (
    decode_charge,
    decode_disks,
    decode_hardware_addresses,
    decode_memory_total,
    decode_sensors,
    decode_processor_brand,
)
KEYS = ("total", "percent", "name", "ID_MODEL", "current", "brand")
json_like = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    lambda inner: st.lists(inner) | st.dictionaries(st.text() | st.sampled_from(KEYS), inner),
    max_leaves=8,
)


def as_json(tree: object) -> bytes:
    return json.dumps(tree).encode()


def test_memory_is_told_in_bytes() -> None:
    assert decode_memory_total(b'{"available": 5, "total": 8589934592}') == 8 << 30


def test_addresses_are_lower_case_and_unknown_ones_left_out() -> None:
    raw = b'{"wlan0": ["3C:1A:9E:40:62:D7", null], "tun0": []}'
    assert decode_hardware_addresses(raw) == {"wlan0": ("3c:1a:9e:40:62:d7",), "tun0": ()}


@pytest.mark.parametrize(
    ("raw", "percent"), [(b"null", None), (b'{"percent": 81}', 81), (b'{"percent": 81.5}', 81.5)]
)
def test_charge(raw: bytes, percent: float | None) -> None:
    assert decode_charge(raw) == percent


def test_disks_keep_the_properties_that_they_have() -> None:
    raw = (
        b'[{"name": "sda", "ID_MODEL": "Larch", "ID_SERIAL_SHORT": null},'
        b' {"name": "loop0", "ID_MODEL": null, "ID_SERIAL_SHORT": null}]'
    )
    assert decode_disks(raw) == {"sda": {"ID_MODEL": "Larch"}, "loop0": {}}


def test_sensors_are_told_by_their_chip() -> None:
    raw = b'{"nvme": [{"current": 41.5, "label": "Composite"}, {"current": 40}], "drawn": []}'
    assert decode_sensors(raw) == {"nvme": (Fraction(83, 2), Fraction(40)), "drawn": ()}


def test_a_model_is_told_without_padding() -> None:
    assert decode_processor_brand(b'{"brand": "  Calder C5 2100 \\u0000"}') == "Calder C5 2100"


@pytest.mark.parametrize(
    ("decode", "raw"),
    [
        (decode_processor_brand, b"null"),
        (decode_processor_brand, b"{}"),
        (decode_processor_brand, b'{"brand": 7}'),
        (decode_memory_total, b"null"),
        (decode_memory_total, b"{}"),
        (decode_memory_total, b'{"total": true}'),
        (decode_memory_total, b'{"total": 1.5}'),
        (decode_memory_total, b'{"total": -1}'),
        (decode_charge, b"[]"),
        (decode_charge, b'{"percent": null}'),
        (decode_charge, b'{"percent": true}'),
        (decode_charge, b'{"percent": NaN}'),
        (decode_charge, b'{"percent": Infinity}'),
        (decode_charge, b'{"percent": 1' + b"0" * 400 + b"}"),
        (decode_hardware_addresses, b'{"wlan0": "3c:1a:9e:40:62:d7"}'),
        (decode_hardware_addresses, b'{"wlan0": [7]}'),
        (decode_sensors, b"[]"),
        (decode_sensors, b'{"nvme": {}}'),
        (decode_sensors, b'{"nvme": [7]}'),
        (decode_sensors, b'{"nvme": [{}]}'),
        (decode_sensors, b'{"nvme": [{"current": true}]}'),
        (decode_sensors, b'{"nvme": [{"current": NaN}]}'),
        (decode_sensors, b'{"nvme": [{"current": 1' + b"0" * 400 + b"}]}"),
        (decode_disks, b"{}"),
        (decode_disks, b"[7]"),
        (decode_disks, b'[{"ID_MODEL": "Larch"}]'),
        (decode_disks, b'[{"name": ""}]'),
        (decode_disks, b'[{"name": "sda", "ID_MODEL": 7}]'),
        *((decode, raw) for decode in DECODERS for raw in (b"", b"\xff", b"{", b"[" * 100_000)),
        *((decode, b"1" * 5000) for decode in DECODERS),
    ],
)
def test_anything_else_is_refused(decode: Callable[[bytes], object], raw: bytes) -> None:
    with pytest.raises(DecodeError):
        decode(raw)


@pytest.mark.parametrize("decode", DECODERS)
@pytest.mark.parametrize(("raw", "offset"), [(b'{"a": "\xff"}', 7), (b'{"a": ]', 6)])
def test_the_place_of_what_is_wrong_is_told(
    decode: Callable[[bytes], object], raw: bytes, offset: int
) -> None:
    with pytest.raises(DecodeError) as caught:
        decode(raw)
    assert caught.value.offset == offset


@pytest.mark.parametrize("decode", DECODERS)
@given(raw=st.binary() | json_like.map(as_json))
def test_any_bytes_give_an_answer_or_a_decode_error(
    decode: Callable[[bytes], object], raw: bytes
) -> None:
    with suppress(DecodeError):
        decode(raw)
