"""Whether a device runs below what it and its port can do: speeds and stores are drawn."""

import errno

import pytest

from closeout.model.reading import Absent, Reading, Unreadable
from closeout.readers.usb_speed import read_below_ability
from strategies.drawn_tree import Content, DrawnTree
from strategies.shown import value_of
from strategies.usb_store import EXTENSION, SUPER_SPEED, store

STICK = "sys/devices/pci0000:00/0000:00:14.0/usb1/1-3"
PORT = "sys/devices/pci0000:00/0000:00:14.0/usb1/1-0:1.0/usb1-port3"
PEER = {f"{STICK}/port": PORT, f"{PORT}/peer": PORT.replace("usb1", "usb2")}
NO_PEER = {f"{STICK}/port": PORT}
ABLE, UNABLE = store(EXTENSION, SUPER_SPEED), store(EXTENSION)


def below(
    speed: Content, abilities: Content | None, version: Content, links: dict[str, str]
) -> Reading[bool]:
    files: dict[str, Content] = {f"{STICK}/speed": speed, f"{STICK}/version": version}
    if abilities is not None:
        files[f"{STICK}/bos_descriptors"] = abilities
    return read_below_ability(DrawnTree(files=files, links=links, folders=(PORT,)), STICK)


@pytest.mark.parametrize(
    ("speed", "abilities", "version", "links", "is_below"),
    [
        (b"480\n", ABLE, b" 2.10\n", PEER, True),
        (b"12\n", ABLE, b" 2.10\n", PEER, True),
        (b"5000\n", ABLE, b" 3.20\n", PEER, False),
        (b"20000\n", None, b" 3.20\n", PEER, False),
        (b"480\n", ABLE, b" 2.10\n", NO_PEER, False),
        (b"480\n", UNABLE, b" 2.01\n", PEER, False),
        (b"480\n", None, b" 2.00\n", PEER, False),
        (b"1.5\n", None, b" 1.10\n", PEER, False),
    ],
)
def test_only_a_device_and_a_port_that_can_do_more_are_below(
    speed: bytes, abilities: bytes | None, version: bytes, links: dict[str, str], *, is_below: bool
) -> None:
    assert value_of(below(speed, abilities, version, links)) is is_below


def test_a_kernel_that_shows_no_store_leaves_it_open() -> None:
    reading = below(b"480\n", None, b" 2.10\n", PEER)
    assert isinstance(reading, Absent)
    assert "does not show" in reading.reason


@pytest.mark.parametrize(
    ("speed", "abilities", "version", "error"),
    [
        (errno.EIO, ABLE, b"2.10\n", "EIO"),
        (b"fast\n", ABLE, b"2.10\n", "MALFORMED"),
        (b"480\n", errno.EACCES, b"2.10\n", "EACCES"),
        (b"480\n", b"\1", b"2.10\n", "MALFORMED"),
        (b"480\n", None, b"new\n", "MALFORMED"),
        (b"480\n", None, errno.EIO, "EIO"),
    ],
)
def test_what_cannot_be_read_or_understood_is_said(
    speed: Content, abilities: Content | None, version: Content, error: str
) -> None:
    reading = below(speed, abilities, version, PEER)
    assert isinstance(reading, Unreadable)
    assert reading.error == error


def test_a_port_whose_other_half_cannot_be_asked_leaves_it_open() -> None:
    files: dict[str, Content] = {
        f"{STICK}/speed": b"480\n",
        f"{STICK}/bos_descriptors": ABLE,
        f"{PORT}/peer": b"no link\n",
    }
    reading = read_below_ability(DrawnTree(files=files, links=NO_PEER), STICK)
    assert isinstance(reading, Unreadable)
