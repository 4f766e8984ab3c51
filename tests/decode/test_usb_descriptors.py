"""USB descriptors and the smart card class: built, read back, cut short, and any bytes."""

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.ccid import CardReader, decode_ccid, find_ccid
from closeout.decode.failure import DecodeError
from closeout.decode.usb_descriptors import (
    UsbDescriptors,
    UsbEndpoint,
    UsbInterface,
    decode_usb_descriptors,
)
from strategies.usb_bytes import build_ccid, build_descriptors, card_reader

octets = st.integers(min_value=0, max_value=255)
shorts = st.integers(min_value=0, max_value=0xFFFF)
triples = st.tuples(octets, octets, octets)
others = st.builds(
    lambda kind, body: bytes([2 + len(body), kind]) + body,
    octets.filter(lambda kind: kind not in {2, 4, 5}),
    st.binary(max_size=60),
)
endpoints = st.builds(UsbEndpoint, address=octets, transfer=st.integers(min_value=0, max_value=3))


@st.composite
def devices(draw: st.DrawFn) -> UsbDescriptors:
    """A device with its interfaces in the order of its configurations."""
    numbers = draw(st.lists(octets, max_size=2, unique=True))
    interfaces = [
        draw(
            st.builds(
                UsbInterface,
                configuration=st.just(number),
                number=octets,
                alternate=octets,
                triple=triples,
                endpoints=st.lists(endpoints, max_size=3).map(tuple),
                others=st.lists(others, max_size=3).map(tuple),
            )
        )
        for number in numbers
        for _ in range(draw(st.integers(min_value=1, max_value=3)))
    ]
    return UsbDescriptors(
        vendor=draw(shorts),
        product=draw(shorts),
        release=draw(shorts),
        device_triple=draw(triples),
        interfaces=tuple(interfaces),
    )


@given(devices())
def test_what_is_built_is_read_back(device: UsbDescriptors) -> None:
    assert decode_usb_descriptors(build_descriptors(device)) == device


@given(devices(), st.data())
def test_a_file_cut_inside_a_descriptor_is_noticed(
    device: UsbDescriptors, data: st.DataObject
) -> None:
    raw = build_descriptors(device)
    starts = {0}
    at = 0
    while at < len(raw):
        at += raw[at]
        starts.add(at)
    cut = data.draw(st.integers(min_value=0, max_value=len(raw)))
    if cut in starts - {0}:
        decode_usb_descriptors(raw[:cut])
    else:
        with pytest.raises(DecodeError):
            decode_usb_descriptors(raw[:cut])


@given(raw=st.binary(max_size=300), begun=st.booleans())
def test_any_bytes_give_a_device_or_one_error(raw: bytes, *, begun: bool) -> None:
    start = build_descriptors(card_reader(build_ccid()))[:18] if begun else b""
    with suppress(DecodeError):
        decode_usb_descriptors(start + raw)


@pytest.mark.parametrize("short", [bytes([4, 2, 0, 0]), bytes([8, 4]) + bytes(6), bytes([3, 5, 1])])
def test_a_descriptor_shorter_than_its_layout_is_refused(short: bytes) -> None:
    head = build_descriptors(card_reader(build_ccid()))[:18]
    with pytest.raises(DecodeError, match="with only") as caught:
        decode_usb_descriptors(head + short)
    assert caught.value.offset == 18


@given(
    slots=st.integers(min_value=1, max_value=256),
    voltages=st.integers(min_value=0, max_value=255),
    protocols=st.integers(min_value=0, max_value=0xFFFF_FFFF),
)
def test_a_reader_is_read_back(slots: int, voltages: int, protocols: int) -> None:
    reader = decode_ccid(build_ccid(slots=slots, voltages=voltages, protocols=protocols))
    assert reader.slots == slots
    assert ("5.0 V" in reader.voltages) == bool(voltages & 1)
    assert ("3.0 V" in reader.voltages) == bool(voltages & 2)
    assert ("1.8 V" in reader.voltages) == bool(voltages & 4)
    assert ("T=0" in reader.protocols) == bool(protocols & 1)
    assert ("T=1" in reader.protocols) == bool(protocols & 2)


def test_a_reader_worked_by_hand() -> None:
    """Offsets of CCID 1.1, table 5.1-1: release at 2, last slot at 4, voltages 5, protocols 6."""
    raw = bytes([54, 0x21, 0x00, 0x01, 1, 0b101, 0b10, 0, 0, 0]) + bytes(44)
    assert decode_ccid(raw) == CardReader(
        revision="1.00", slots=2, voltages=("5.0 V", "1.8 V"), protocols=("T=1",)
    )


@pytest.mark.parametrize(
    "raw", [build_ccid()[:-1], b"\x36\x22" + bytes(52), b"\x35\x21" + bytes(53)]
)
def test_another_descriptor_is_refused(raw: bytes) -> None:
    with pytest.raises(DecodeError):
        decode_ccid(raw)


@given(st.binary(max_size=80))
def test_any_bytes_give_a_reader_or_one_error(raw: bytes) -> None:
    with suppress(DecodeError):
        decode_ccid(raw)


def test_the_descriptor_is_found_by_its_interface() -> None:
    contact = build_ccid()
    device = card_reader(contact, number=3)
    assert find_ccid(device, 3) == contact
    assert find_ccid(device, 0) is None
    assert find_ccid(card_reader(b"\x04\x22\x00\x00"), 0) is None
