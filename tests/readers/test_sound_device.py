"""Devices that play or capture, free and in use."""

import errno

import pytest

from closeout.model.reading import Absent, Unreadable
from closeout.readers.sound_device import find_devices, read_device
from strategies.drawn_tree import Content, DrawnTree
from strategies.shown import value_of, values_of
from strategies.sound import build_streams

CARD = "sys/devices/pci0000:00/0000:00:1f.3/sound/card0"
PLAYS = f"{CARD}/pcmC0D0p"
RECORDS = f"{CARD}/pcmC0D6c"
LOOP = "sys/devices/platform/loop.0/sound/card1/pcmC1D0p"
STATE = "proc/asound/card0/pcm0p/info"


def info(there: object, free: object) -> bytes:
    return f"card: 0\nsubdevices_count: {there}\nsubdevices_avail: {free}\n".encode()


FILES: dict[str, Content] = {
    f"{CARD}/id": b"Fen\n",
    "proc/asound/pcm": build_streams([(0, 0, "Fen Analog", 2, 1), (0, 6, "DMIC (*)", 0, 1)]),
    STATE: info(2, 2),
    "proc/asound/card0/pcm6c/info": info(1, 0),
}
LINKS = {f"sys/class/sound/{place.rpartition('/')[2]}": place for place in (PLAYS, RECORDS, LOOP)}


def drawn(**files: Content) -> DrawnTree:
    folders = (PLAYS, RECORDS, LOOP)
    return DrawnTree(files={**FILES, **files}, links=LINKS, folders=folders)


def test_devices_with_hardware_are_listed() -> None:
    assert value_of(find_devices(drawn())) == (PLAYS, RECORDS)


def test_devices_are_read_each_in_its_direction() -> None:
    assert values_of(read_device(drawn(), PLAYS)) == {
        "card_id": "Fen",
        "direction": "playback",
        "identifier": "Fen Analog",
        "purpose": "general",
        "streams": 2,
        "busy": False,
    }
    assert values_of(read_device(drawn(), RECORDS)) == {
        "card_id": "Fen",
        "direction": "capture",
        "identifier": "DMIC (*)",
        "purpose": "digital microphone",
        "streams": 1,
        "busy": True,
    }


@pytest.mark.parametrize("content", [errno.EIO, info("?", 1), info(1, ""), b""])
def test_a_state_that_is_not_told_is_not_free(content: Content) -> None:
    found = read_device(drawn(**{STATE: content}), PLAYS)
    assert isinstance(found.busy, Unreadable)


def test_a_device_that_the_list_does_not_have_keeps_its_place() -> None:
    found = read_device(drawn(), f"{CARD}/pcmC0D9p")
    assert isinstance(found.identifier, Absent)
    assert isinstance(found.busy, Absent)
    assert isinstance(read_device(drawn(), "sys/class/sound/other").identifier, Absent)


def test_a_list_that_cannot_be_read_leaves_the_purpose_unknown() -> None:
    found = read_device(drawn(**{"proc/asound/pcm": errno.EIO}), PLAYS)
    assert isinstance(found.purpose, Unreadable)


def test_a_class_that_cannot_be_listed_is_not_empty() -> None:
    assert isinstance(find_devices(DrawnTree(files={"sys/class/sound": errno.EIO})), Unreadable)
