"""Object stores of USB devices, built from USB 3.2, section 9.6.2."""

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.failure import DecodeError
from closeout.decode.usb_abilities import can_super_speed, decode_capabilities
from strategies.usb_store import EXTENSION, SUPER_SPEED, store

codes = st.integers(0, 255)
capabilities = st.lists(st.tuples(codes, st.binary(max_size=20)), max_size=8)


def test_the_store_of_a_super_speed_device() -> None:
    """As `lsusb -v` takes it apart: "USB 2.0 Extension" and "SuperSpeed USB" capability."""
    raw = bytes.fromhex("050f160002071002020000000a1003000e000300ff07")
    assert decode_capabilities(raw) == (2, 3)
    assert can_super_speed(decode_capabilities(raw))
    assert not can_super_speed((2,))
    assert can_super_speed((10,))


@given(capabilities)
def test_what_is_built_is_read_back(told: list[tuple[int, bytes]]) -> None:
    assert decode_capabilities(store(*told)) == tuple(code for code, _ in told)


@given(st.data())
def test_a_store_cut_short_is_noticed(data: st.DataObject) -> None:
    whole = store(EXTENSION, SUPER_SPEED)
    cut = data.draw(st.integers(0, len(whole) - 1))
    with pytest.raises(DecodeError):
        decode_capabilities(whole[:cut])


@pytest.mark.parametrize(
    ("at", "told", "wrong"),
    [
        (1, 0x0E, "its own descriptor"),
        (0, 4, "its own descriptor"),
        (2, 99, "says 99 bytes"),
        (4, 3, "promises 3"),
        (5, 2, "a capability of 2 bytes"),
        (5, 200, "a capability of 200 bytes"),
        (6, 0x11, "type 11h"),
    ],
)
def test_what_does_not_fit_is_refused(at: int, told: int, wrong: str) -> None:
    raw = bytearray(store(EXTENSION, SUPER_SPEED))
    raw[at] = told
    with pytest.raises(DecodeError, match=wrong):
        decode_capabilities(bytes(raw))


@given(st.binary(max_size=60) | st.binary(max_size=60).map(lambda rest: b"\5\x0f\x20\0" + rest))
def test_any_bytes_give_codes_or_one_error(raw: bytes) -> None:
    with suppress(DecodeError):
        decode_capabilities(raw)
