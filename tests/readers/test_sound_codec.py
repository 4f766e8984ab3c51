"""Codecs on both sound buses; names and ids are invented."""

import errno

import pytest

from closeout.model.device import Position
from closeout.model.reading import Absent, Unreadable
from closeout.readers.sound_codec import find_codecs, read_codec
from strategies.drawn_tree import Content, DrawnTree
from strategies.shown import value_of, values_of
from strategies.sound import (
    HDMI,
    HDMI_PINCAP,
    HEADPHONE,
    MICROPHONE,
    PLAIN_PINCAP,
    SPEAKER,
    UNUSED,
    CodecPlan,
    build_codec,
)

CODEC = "sys/devices/pci0000:00/0000:00:1f.3/hdaudioC1D2"
WIRE = "sys/devices/pci0000:00/0000:00:1f.3/fen-link.0/sdw-master-0-0/sdw:0:0:fe15:0711:01"
TEXT = "proc/asound/card1/codec#2"
PINS = (
    (SPEAKER, PLAIN_PINCAP),
    (0x90170120, PLAIN_PINCAP),
    (MICROPHONE, PLAIN_PINCAP),
    (HEADPHONE, PLAIN_PINCAP),
    (UNUSED, PLAIN_PINCAP),
    (HDMI, HDMI_PINCAP),
)
FILES: dict[str, Content] = {
    TEXT: build_codec(CodecPlan(pins=PINS)),
    f"{WIRE}/status": b"Attached\n",
    f"{WIRE}/modalias": b"sdw:mFE15p0711v03c01\n",
}
LINKS = {
    "sys/bus/hdaudio/devices/hdaudioC1D2": CODEC,
    "sys/bus/soundwire/devices/sdw:0:0:fe15:0711:01": WIRE,
    "sys/bus/soundwire/devices/sdw-master-0-0": WIRE.rpartition("/")[0],
}


def drawn(**files: Content) -> DrawnTree:
    return DrawnTree(files={**FILES, **files}, links=LINKS, folders=("sys/class/net", CODEC))


def test_codecs_of_both_buses_are_listed_and_their_controllers_are_not() -> None:
    assert value_of(find_codecs(drawn())) == (CODEC, WIRE)


def test_a_codec_is_read_with_what_firmware_wires_to_it() -> None:
    found = read_codec(drawn(), CODEC)
    assert (found.label, found.position) == ("hdaudioC1D2", Position.INTERNAL)
    assert values_of(found) == {
        "bus": "hda",
        "name": "Calder CX21",
        "ids": "fe15:0256",
        "subsystem_ids": "fe10:0014",
        "revision": "00100002",
        "answers": True,
        "speakers": 2,
        "microphones": 1,
        "jacks": ("headphone",),
        "display_outputs": 1,
    }


def test_a_codec_behind_a_sound_processor_belongs_to_its_card() -> None:
    place = "sys/devices/pci0000:00/0000:00:1f.3/ehdaudio0D2"
    links = {
        **LINKS,
        "sys/bus/hdaudio/devices/ehdaudio0D2": place,
        "sys/class/sound/card0": "sys/devices/pci0000:00/0000:01:00.1/sound/card0",
        "sys/class/sound/card1": "sys/devices/pci0000:00/0000:00:1f.3/fen-machine/sound/card1",
        "sys/class/sound/timer": "sys/devices/virtual/sound/timer",
    }
    tree = DrawnTree(files=FILES, links=links, folders=("sys/class/net",))
    assert value_of(find_codecs(tree)) == (place, CODEC, WIRE)
    assert value_of(read_codec(tree, place).speakers) == 2


def test_a_codec_whose_processor_gives_no_card_tells_nothing() -> None:
    place = "sys/devices/pci0000:00/0000:00:1f.3/ehdaudio0D2"
    found = read_codec(drawn(), place)
    assert isinstance(found.answers, Absent)
    unlisted = drawn(**{"sys/class/sound": errno.EACCES})
    assert isinstance(read_codec(unlisted, place).answers, Unreadable)


@pytest.mark.parametrize(
    ("status", "answers"), [(b"Attached\n", True), (b"Alert\n", True), (b"UNATTACHED\n", False)]
)
def test_a_soundwire_codec_says_whether_it_is_there(status: bytes, *, answers: bool) -> None:
    found = read_codec(drawn(**{f"{WIRE}/status": status}), WIRE)
    assert values_of(found) == {"bus": "soundwire", "ids": "fe15:0711", "answers": answers}


@pytest.mark.parametrize("content", [b"Resting\n", errno.EIO])
def test_a_status_that_is_not_known_is_unreadable(content: Content) -> None:
    assert isinstance(read_codec(drawn(**{f"{WIRE}/status": content}), WIRE).answers, Unreadable)


def test_an_alias_that_is_not_understood_is_unreadable() -> None:
    found = read_codec(drawn(**{f"{WIRE}/modalias": b"sdw:x\n"}), WIRE)
    assert isinstance(found.ids, Unreadable)


@pytest.mark.parametrize("content", [errno.EIO, b"nothing\n"])
def test_a_codec_that_gives_no_text_does_not_answer(content: Content) -> None:
    found = read_codec(drawn(**{TEXT: content}), CODEC)
    for reading in (found.answers, found.ids, found.speakers):
        assert isinstance(reading, Unreadable)


def test_buses_that_are_not_there_hold_nothing() -> None:
    assert value_of(find_codecs(DrawnTree(folders=("sys/class/net",)))) == ()


@pytest.mark.parametrize("bus", ["hdaudio", "soundwire"])
def test_a_bus_that_cannot_be_listed_leaves_all_unknown(bus: str) -> None:
    links = {path: target for path, target in LINKS.items() if bus not in path}
    tree = DrawnTree(
        files={f"sys/bus/{bus}/devices": errno.EACCES}, links=links, folders=("sys/class/net",)
    )
    assert isinstance(find_codecs(tree), Unreadable)


def test_a_tree_without_buses_and_classes_tells_nothing() -> None:
    assert isinstance(find_codecs(DrawnTree(folders=("proc",))), Absent)
