"""Vital product data: built from the layouts, cut short, and any bytes."""

from collections.abc import Callable
from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.failure import DecodeError
from closeout.decode.scsi_pages import AtaIdentity, decode_ata_information, decode_unit_serial
from strategies.vital_product_pages import ata_information_page, unit_serial_page

printable = st.characters(min_codepoint=0x21, max_codepoint=0x7E)


def texts(longest: int) -> st.SearchStrategy[str]:
    return st.text(printable, max_size=longest)


@given(texts(40), texts(20), texts(8))
def test_an_ata_page_is_read_back_whole(model: str, serial: str, firmware: str) -> None:
    page = ata_information_page(model, serial, firmware)
    wanted = AtaIdentity(model=model, serial=serial, firmware=firmware)
    assert decode_ata_information(page) == wanted


def test_a_model_is_not_cut_at_sixteen_characters() -> None:
    page = ata_information_page("Sample Solid State Drive 512GB", "   SN0042", "RVT02B6Q")
    assert decode_ata_information(page) == AtaIdentity(
        model="Sample Solid State Drive 512GB", serial="SN0042", firmware="RVT02B6Q"
    )


@given(texts(40))
def test_a_serial_page_is_read_back(serial: str) -> None:
    assert decode_unit_serial(unit_serial_page(f"  {serial} ".encode())) == serial


def test_a_page_of_another_number_is_refused() -> None:
    with pytest.raises(DecodeError, match="is page 83h") as caught:
        decode_unit_serial(bytes([0, 0x83, 0, 0]))
    assert caught.value.offset == 1


@pytest.mark.parametrize("decode", [decode_unit_serial, decode_ata_information])
@given(st.data())
def test_a_page_cut_short_is_noticed(
    decode: Callable[[bytes], object], data: st.DataObject
) -> None:
    is_serial = decode is decode_unit_serial
    whole = unit_serial_page(b"SN0042") if is_serial else ata_information_page("Drive", "SN", "1")
    cut = data.draw(st.integers(min_value=0, max_value=len(whole) - 1))
    with pytest.raises(DecodeError):
        decode(whole[:cut])


def test_an_ata_page_that_promises_less_than_the_identity_is_refused() -> None:
    with pytest.raises(DecodeError, match="bytes of identity"):
        decode_ata_information(bytes([0, 0x89, 0, 60]) + bytes(60))


@pytest.mark.parametrize("decode", [decode_unit_serial, decode_ata_information])
@given(st.binary(max_size=700), st.sampled_from([b"", b"\x00\x80", b"\x00\x89\x00\xa0"]))
def test_any_bytes_give_an_object_or_one_error(
    decode: Callable[[bytes], object], raw: bytes, start: bytes
) -> None:
    with suppress(DecodeError):
        decode(start + raw)
