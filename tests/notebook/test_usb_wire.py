"""Packets of the redirection protocol: what was built is read again, and nonsense is refused."""

import re
from dataclasses import fields
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from notebook.usb_messages import (
    CAPABILITIES,
    KINDS,
    Bulk,
    Cancel,
    Control,
    Hello,
    Interrupt,
    Message,
    Reset,
    Status,
    endpoint_line,
)
from notebook.usb_wire import LONGEST, Packet, PacketReader, WireError, encode_packet

FIELD = re.compile(r"(\d*)([BHIs])")
WIDTHS = {"B": 8, "H": 16, "I": 32}
IDS = st.integers(0, 2**64 - 1)
HELLO = Packet(message=Hello(version=b"here".ljust(64, b"\0"), capabilities=CAPABILITIES))

EMULATORS_HELLO = bytes.fromhex("000000004400000000000000") + b"an emulator".ljust(64, b"\0")
EMULATORS_REQUEST = bytes.fromhex("640000000a00000000e4fd3f00000000800680f5000100000800")
"""A request for the device descriptor as an emulator sent it, the unused status not blank."""


def values_of(kind: type[Message]) -> st.SearchStrategy[list[object]]:
    """Values for the fields of a layout."""
    found = FIELD.findall(kind.LAYOUT.format)
    return st.tuples(
        *(
            st.binary(min_size=int(count), max_size=int(count))
            if code == "s"
            else st.integers(0, 2 ** WIDTHS[code] - 1)
            for count, code in found
        )
    ).map(list)


@st.composite
def messages(draw: st.DrawFn) -> Message:
    """Any message, with data or without."""
    kind = draw(st.sampled_from(KINDS))
    names = [field.name for field in fields(kind)]
    told = dict(zip(names, draw(values_of(kind)), strict=False))
    if "payload" in names:
        payload = draw(st.binary(max_size=200))
        told["payload"] = payload
        told["length_low" if kind is Bulk else "length"] = len(payload)
        told |= {"length_high": 0} if kind is Bulk else {}
    return kind(**told)


LATER = messages().filter(lambda message: not isinstance(message, Hello))


def cut(raw: bytes, places: list[int]) -> list[bytes]:
    """The bytes in pieces, cut at these places."""
    borders = sorted({0, len(raw), *(place % (len(raw) + 1) for place in places)})
    return [raw[start:end] for start, end in pairwise(borders)]


@st.composite
def damaged(draw: st.DrawFn) -> bytes:
    """A stream with one byte changed."""
    packets = draw(st.lists(st.builds(Packet, message=LATER, id=IDS), min_size=1, max_size=3))
    raw = bytearray(b"".join(map(encode_packet, packets)))
    raw[draw(st.integers(0, len(raw) - 1))] = draw(st.integers(0, 255))
    return bytes(raw)


PLACES = st.lists(st.integers(0, 10_000), max_size=6)
STREAMS = st.lists(st.builds(Packet, message=LATER, id=IDS), max_size=5)


@given(STREAMS | STREAMS.map(lambda packets: [HELLO, *packets]), PLACES)
def test_a_stream_is_read_as_it_was_written(packets: list[Packet], places: list[int]) -> None:
    reader = PacketReader()
    raw = b"".join(map(encode_packet, packets))
    assert [packet for piece in cut(raw, places) for packet in reader.read(piece)] == packets


@given(st.binary(max_size=400) | damaged(), PLACES)
def test_any_bytes_are_packets_or_one_error(raw: bytes, places: list[int]) -> None:
    reader, read = PacketReader(), list[Packet]()
    try:
        for piece in cut(raw, places):
            read.extend(reader.read(piece))
    except WireError:
        pass
    later = [packet for packet in read if not isinstance(packet.message, Hello)]
    if later == read:
        assert raw.startswith(b"".join(map(encode_packet, read)))
    else:
        assert later == read[1:]


@given(LATER, IDS, st.binary(min_size=1, max_size=30))
def test_more_bytes_than_the_layout_has_are_noticed(
    message: Message, number: int, more: bytes
) -> None:
    raw = bytearray(encode_packet(Packet(message=message, id=number)) + more)
    raw[4:8] = (len(raw) - 16).to_bytes(4, "little")
    if getattr(message, "length", None) == len(more) and not getattr(message, "payload", b""):
        return  # data of the announced length
    with pytest.raises(WireError, match=type(message).__name__):
        list(PacketReader().read(bytes(raw)))


def test_what_an_emulator_says() -> None:
    capabilities = (0xFB).to_bytes(4, "little")
    hello, request = PacketReader().read(EMULATORS_HELLO + capabilities + EMULATORS_REQUEST)
    assert hello.message == Hello(version=b"an emulator".ljust(64, b"\0"), capabilities=0xFB)
    assert request.id == 0x3FFDE400
    assert request.message == Control(
        endpoint=0x80,
        request=6,
        request_type=0x80,
        status=0xF5,
        value=0x0100,
        index=0,
        length=8,
    )


def test_a_hello_may_have_more_words_of_capabilities() -> None:
    raw = bytearray(EMULATORS_HELLO + bytes(8))
    raw[4] = 64 + 8
    (hello,) = PacketReader().read(bytes(raw))
    assert hello.message == Hello(version=b"an emulator".ljust(64, b"\0"), capabilities=0)


@pytest.mark.parametrize(
    ("raw", "complaint"),
    [
        (encode_packet(HELLO) * 2, "type 0 with a length of 68 at this place"),
        (b"GET / HTTP/1.1\r\n\r\n", "type 542393671 with a length of"),
        (bytes.fromhex("03000000010010000000000000000000"), f"a length of {LONGEST + 1}"),
        (bytes.fromhex("63000000000000000000000000000000"), "type 99, which is unknown"),
        (bytes.fromhex("06000000000000000000000000000000"), "SetConfiguration in 0 bytes"),
        (bytes.fromhex("000000000400000000000000") + bytes(4), "Hello in 4 bytes"),
    ],
)
def test_nonsense_is_named(raw: bytes, complaint: str) -> None:
    with pytest.raises(WireError, match=complaint):
        list(PacketReader().read(raw))


def test_a_bulk_length_has_two_halves() -> None:
    message = Bulk(endpoint=0x82, status=Status.SUCCESS, length_low=2, length_high=1)
    assert message.length == 0x10002
    assert encode_packet(Packet(message=message, id=9)).hex() == (
        "650000000a000000090000000000000082000200000000000100"
    )


def test_messages_without_fields_are_a_header_alone() -> None:
    assert encode_packet(Packet(message=Reset())).hex() == "03" + "00" * 15
    assert encode_packet(Packet(message=Cancel(), id=258)).hex() == "15" + "00" * 7 + "0201" + (
        "00" * 6
    )


def test_endpoints_have_their_lines() -> None:
    assert [endpoint_line(address) for address in (0x00, 0x02, 0x0F, 0x80, 0x81, 0x8F)] == [
        0,
        2,
        15,
        16,
        17,
        31,
    ]


def test_types_are_those_of_the_document() -> None:
    numbers = {kind.TYPE: kind.__name__ for kind in KINDS}
    assert len(numbers) == len(KINDS)
    assert numbers[1] == "DeviceConnect"
    assert numbers[21] == "Cancel"
    assert numbers[103] == Interrupt.__name__
