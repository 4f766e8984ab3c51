"""Firmware variables as efivarfs shows them; the worked bytes are those of a booted guest."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.efi_variable import EfiVariable, decode_efi_flag, decode_efi_variable
from closeout.decode.failure import DecodeError

ON = bytes.fromhex("0600000001")
OFF = bytes.fromhex("0600000000")


def test_attributes_and_content() -> None:
    assert decode_efi_variable(ON) == EfiVariable(attributes=6, content=b"\x01")


def test_flags() -> None:
    assert decode_efi_flag(ON) is True
    assert decode_efi_flag(OFF) is False


@pytest.mark.parametrize(
    ("raw", "offset"),
    [(b"", 0), (b"\x06\0\0", 3), (ON[:4], 4), (ON + b"\0", 4), (ON[:4] + b"\2", 4)],
)
def test_what_is_no_flag_says_where(raw: bytes, offset: int) -> None:
    with pytest.raises(DecodeError) as raised:
        decode_efi_flag(raw)
    assert raised.value.offset == offset


@given(attributes=st.integers(0, 0xFFFFFFFF), content=st.binary())
def test_built_variables_come_back(attributes: int, content: bytes) -> None:
    raw = attributes.to_bytes(4, "little") + content
    assert decode_efi_variable(raw) == EfiVariable(attributes=attributes, content=content)


@given(st.binary(max_size=8))
def test_any_bytes_give_a_flag_or_an_error(raw: bytes) -> None:
    if len(raw) == 5 and raw[4] < 2:
        assert decode_efi_flag(raw) is bool(raw[4])
    else:
        with pytest.raises(DecodeError):
            decode_efi_flag(raw)
