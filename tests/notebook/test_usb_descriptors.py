"""Descriptors read back by a walk that knows their lengths only, and worked values."""

from collections.abc import Iterator
from dataclasses import replace
from struct import unpack_from

import pytest
from hypothesis import given
from hypothesis import strategies as st

from notebook.description import UsbDevice, load_notebook
from notebook.usb_descriptors import (
    OUTLINES,
    configuration_descriptor,
    descriptor,
    device_descriptor,
    string_descriptor,
)
from notebook.usb_messages import Transfer
from notebook.usb_settings import Settings
from notebook.usb_video import (
    HEIGHT,
    PACKETS_A_PICTURE,
    PROBE,
    PROBE_ANSWER,
    STREAM_PACKET,
    WIDTH,
    answer_video_request,
    grey_picture,
    picture_payloads,
)

READER = load_notebook("fen-14").usb["fingerprint"]
TEXTS = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=126).filter(
    lambda text: len(text.encode("utf-16-le")) <= 252
)


def parts_of(raw: bytes) -> Iterator[bytes]:
    """The descriptors that stand behind one another."""
    while raw:
        length = raw[0]
        assert 2 <= length <= len(raw)
        yield raw[:length]
        raw = raw[length:]


def test_a_device_descriptor() -> None:
    assert device_descriptor(READER).hex() == ("12010002ff00004021fe0700100101020301")


def test_texts_that_are_not_told_have_no_string() -> None:
    silent = replace(READER, maker="", serial="")
    assert device_descriptor(silent)[14:17] == bytes([0, 2, 0])
    assert string_descriptor(silent, 1) is None
    assert string_descriptor(silent, 2) is not None


@given(TEXTS, TEXTS, TEXTS)
def test_texts_come_back(maker: str, product: str, serial: str) -> None:
    device = replace(READER, maker=maker, product=product, serial=serial)
    for index, text in enumerate((maker, product, serial), start=1):
        raw = descriptor(device, 3, index)
        assert raw is not None
        assert raw[:2] == bytes([len(raw), 3])
        assert raw[2:].decode("utf-16-le") == text


def test_languages_and_unknown_strings() -> None:
    assert string_descriptor(READER, 0) == bytes.fromhex("04030904")
    assert string_descriptor(READER, 4) is None
    assert string_descriptor(READER, 255) is None


@given(st.integers(0, 255), st.integers(0, 255))
def test_other_descriptors_do_not_exist(kind: int, index: int) -> None:
    there = kind == 1 or (kind == 2 and index == 0) or (kind == 3 and index <= 3)
    assert (descriptor(READER, kind, index) is not None) == there


@pytest.mark.parametrize("kind", OUTLINES)
def test_a_configuration_holds_what_it_counts(kind: str) -> None:
    raw = configuration_descriptor(OUTLINES[kind])
    head, *parts = parts_of(raw)
    assert unpack_from("<BBHBB", head) == (9, 2, len(raw), head[4], 1)
    interfaces = [part for part in parts if part[1] == 4]
    assert len({part[2] for part in interfaces}) == head[4]
    assert sum(part[4] for part in interfaces) == len([part for part in parts if part[1] == 5])


def test_interfaces_are_of_their_class() -> None:
    triples = {
        kind: [
            tuple(part[5:8]) for part in parts_of(configuration_descriptor(outline)) if part[1] == 4
        ]
        for kind, outline in OUTLINES.items()
    }
    assert triples == {
        "vendor": [(0xFF, 0, 0)],
        "camera": [(0x0E, 1, 0), (0x0E, 2, 0), (0x0E, 2, 0)],
        "bluetooth": [(0xE0, 1, 1)],
        "card_reader": [(0x0B, 0, 0)],
    }


def test_a_card_reader_has_one_slot_and_says_so_in_54_bytes() -> None:
    """CCID 1.1, section 5.1: length and type first, release at 2, the last slot at 4."""
    parts = list(parts_of(configuration_descriptor(OUTLINES["card_reader"])))
    (contact,) = [part for part in parts if part[1] == 0x21]
    assert len(contact) == contact[0] == 54
    assert (unpack_from("<H", contact, 2)[0], contact[4]) == (0x0110, 0)


def test_class_specific_lengths_of_a_camera() -> None:
    parts = list(parts_of(configuration_descriptor(OUTLINES["camera"])))
    control = [part for part in parts if part[1] == 0x24][:3]
    streaming = [part for part in parts if part[1] == 0x24][3:]
    assert unpack_from("<H", control[0], 5)[0] == sum(map(len, control))
    assert unpack_from("<H", streaming[0], 4)[0] == sum(map(len, streaming))
    assert [part[2] for part in control] == [1, 2, 3]
    assert [part[2] for part in streaming] == [1, 6, 7]
    assert unpack_from("<HH", streaming[2], 5) == (WIDTH, HEIGHT)


@pytest.mark.parametrize(
    ("kind", "alternate", "endpoints"),
    [
        ("vendor", 0, {0x81: Transfer.BULK, 0x02: Transfer.BULK}),
        ("bluetooth", 0, {0x81: Transfer.INTERRUPT, 0x82: Transfer.BULK, 0x02: Transfer.BULK}),
        ("camera", 0, {0x81: Transfer.NONE}),
        ("camera", 1, {0x81: Transfer.ISO}),
    ],
)
def test_endpoints_depend_on_the_setting(
    kind: str, alternate: int, endpoints: dict[int, Transfer]
) -> None:
    settings = Settings(OUTLINES[kind])
    if alternate:
        list(settings.change(1, alternate))
    assert {address: settings.transfer_of(address) for address in endpoints} == endpoints


def test_a_camera_agrees_to_one_stream_only() -> None:
    assert len(PROBE_ANSWER) == PROBE.size == 34
    for request in (0x81, 0x82, 0x83, 0x87):
        assert answer_video_request(request, 0x0100, 1) == PROBE_ANSWER
    assert answer_video_request(0x85, 0x0200, 1) == bytes([34, 0])
    assert answer_video_request(0x86, 0x0100, 1) == b"\x03"
    assert answer_video_request(0x81, 0x0300, 1) is None
    assert answer_video_request(0x81, 0x0100, 0) is None


def test_a_picture_is_a_jpeg_file() -> None:
    picture = grey_picture()
    assert picture[:2] == b"\xff\xd8"
    assert picture[-2:] == b"\xff\xd9"
    place, found = 2, []
    while picture[place + 1] != 0xDA:
        found.append(picture[place + 1])
        place += 2 + int.from_bytes(picture[place + 2 : place + 4], "big")
    assert found == [0xDB, 0xC0, 0xC4, 0xC4]
    scan = place + 2 + int.from_bytes(picture[place + 2 : place + 4], "big")
    assert len(picture) - 2 - scan == WIDTH * HEIGHT // 64 * 2 // 8


@pytest.mark.parametrize("toggle", [0, 1])
def test_a_picture_in_packets_is_whole(toggle: int) -> None:
    payloads = list(picture_payloads(toggle))
    assert len(payloads) == PACKETS_A_PICTURE
    assert max(map(len, payloads)) <= STREAM_PACKET
    of_picture = [each for each in payloads if len(each) > each[0]]
    assert b"".join(each[2:] for each in of_picture) == grey_picture()
    assert [each[1] & 1 for each in of_picture] == [toggle] * len(of_picture)
    assert [bool(each[1] & 2) for each in of_picture] == [False] * (len(of_picture) - 1) + [True]


def test_every_device_of_the_notebook_has_descriptors() -> None:
    for device in load_notebook("fen-14").usb.values():
        assert isinstance(device, UsbDevice)
        assert descriptor(device, 1, 0) is not None
        assert descriptor(device, 2, 0) is not None
