"""Sound cards: what they serve, a screen's socket told apart, and jacks that report a plug."""

import errno

import pytest

from closeout.model.device import Position
from closeout.model.reading import Absent, Unreadable, Value
from closeout.readers.sound_card import find_cards, read_card
from strategies.drawn_tree import Content, DrawnTree
from strategies.shown import value_of, values_of
from strategies.sound import build_cards, build_streams

FUNCTION = "sys/devices/pci0000:00/0000:00:1f.3"
CARD = f"{FUNCTION}/sound/card1"
HEADSET = f"{CARD}/input17"
SCREEN = f"{CARD}/input18"
QUESTION = "input switches event9"
FILES: dict[str, Content] = {
    f"{CARD}/id": b"Fen\n",
    f"{CARD}/number": b"1\n",
    f"{HEADSET}/name": b"HDA Fen Headphone\n",
    f"{HEADSET}/capabilities/sw": b"14\n",
    f"{HEADSET}/event9/dev": b"13:73\n",
    f"{SCREEN}/name": b"HDA Fen HDMI/DP,pcm=3\n",
    f"{SCREEN}/capabilities/sw": b"140\n",
    f"{SCREEN}/event10/dev": b"13:74\n",
    "proc/asound/cards": build_cards(
        [(0, "Screen", "HDA Screen", "HDA Screen at 1"), (1, "Fen", "HDA Fen", "HDA Fen at 2")]
    ),
    "proc/asound/pcm": build_streams(
        [(0, 3, "HDMI 0", 1, 0), (1, 0, "Fen Analog", 1, 1), (1, 3, "HDMI 0", 1, 0),
         (1, 6, "DMIC", 0, 1)]
    ),
}  # fmt: skip
LINKS = {
    "sys/class/sound/card1": CARD,
    "sys/class/sound/pcmC1D0p": f"{CARD}/pcmC1D0p",
    "sys/class/sound/timer": "sys/devices/virtual/sound/timer",
    f"{CARD}/device": FUNCTION,
    f"{FUNCTION}/driver": "sys/bus/pci/drivers/fen_sound",
}


def drawn(answer: Content = b"0\n", **files: Content) -> DrawnTree:
    return DrawnTree(files={**FILES, **files}, links=LINKS, answers={QUESTION: answer})


def test_cards_are_listed_and_nothing_else_of_the_class_is() -> None:
    assert value_of(find_cards(drawn())) == (CARD,)


def test_a_card_is_read_whole() -> None:
    found = read_card(drawn(), CARD)
    assert (found.label, found.position) == ("card1", Position.INTERNAL)
    assert values_of(found) == {
        "card_id": "Fen",
        "driver": "fen_sound",
        "name": "HDA Fen",
        "long_name": "HDA Fen at 2",
        "serves": ("playback", "capture", "digital microphone", "display"),
        "playback_devices": 1,
        "capture_devices": 2,
        "jacks": ("Headphone",),
        "plugged": (),
    }


def test_a_card_of_a_screens_socket_serves_nothing_else() -> None:
    place = "sys/devices/pci0000:00/0000:01:00.1/sound/card0"
    found = read_card(drawn(), place)
    assert value_of(found.serves) == ("display",)
    assert value_of(found.playback_devices) == 0


@pytest.mark.parametrize("answer", [b"4\n", b"10\n", b"14\n"])
def test_a_plug_is_reported_by_any_switch_of_its_jack(answer: bytes) -> None:
    found = read_card(drawn(answer), CARD)
    assert found.plugged == Value(value=("Headphone",), sources=found.plugged.sources)
    assert QUESTION in found.plugged.sources


def test_a_plug_in_a_screens_socket_is_none_of_a_jack() -> None:
    tree = drawn()
    read_card(tree, CARD)
    assert "input switches event10" not in tree.asked


@pytest.mark.parametrize(("answer", "error"), [(errno.EACCES, "EACCES"), (b"no bits", "MALFORMED")])
def test_a_switch_that_cannot_be_read_is_no_empty_jack(answer: Content, error: str) -> None:
    found = read_card(drawn(answer), CARD)
    assert isinstance(found.plugged, Unreadable)
    assert found.plugged.error == error
    assert value_of(found.jacks) == ("Headphone",)


def test_a_source_that_offers_no_switches_leaves_the_jacks_unknown() -> None:
    found = read_card(DrawnTree(files=FILES, links=LINKS), CARD)
    assert isinstance(found.plugged, Unreadable)
    assert found.plugged.error == "NOT_OFFERED"


def test_a_jack_without_an_event_device_tells_nothing() -> None:
    files = {path: content for path, content in FILES.items() if "event9" not in path}
    found = read_card(DrawnTree(files=files, links=LINKS), CARD)
    assert isinstance(found.plugged, Absent)


def test_a_jack_without_a_name_has_the_kernels() -> None:
    found = read_card(drawn(**{f"{HEADSET}/name": errno.EIO}), CARD)
    assert value_of(found.jacks) == ("input17",)


def test_lists_that_cannot_be_read_leave_what_it_serves_unknown() -> None:
    found = read_card(drawn(**{"proc/asound/pcm": errno.EIO, "proc/asound/cards": b"?"}), CARD)
    for reading in (found.serves, found.playback_devices, found.name, found.long_name):
        assert isinstance(reading, Unreadable)
    assert value_of(found.jacks) == ("HDA Fen Headphone",)


def test_a_card_that_no_list_has_is_absent_from_them() -> None:
    found = read_card(drawn(), f"{FUNCTION}/sound/card7")
    assert isinstance(found.name, Absent)
    assert value_of(found.serves) == ()


def test_a_link_that_cannot_be_followed_leaves_no_number() -> None:
    assert isinstance(read_card(drawn(), "sys/class/sound/other").name, Absent)


@pytest.mark.parametrize(
    ("place", "links", "hard"),
    [
        ("sys/devices/virtual/sound/card0", {}, False),
        ("sys/devices/platform/loop.0/sound/card0", {}, False),
        ("sys/devices/platform/loop.0/sound/card0", {"loop.0/firmware_node": "acpi"}, True),
        ("sys/devices/platform/sound/sound/card0", {"sound/of_node": "tree"}, True),
        ("sys/devices/platform/host/0000:00:1f.3/sound/card0", {}, True),
        ("sys/devices/pci0000:00/0000:00:1f.3/fen/sound/card0", {}, True),
    ],
)
def test_a_card_made_of_software_is_no_card(
    place: str, links: dict[str, str], *, hard: bool
) -> None:
    above = {f"sys/devices/platform/{link}": target for link, target in links.items()}
    tree = DrawnTree(files={f"{place}/id": b"x\n"}, links={"sys/class/sound/card0": place, **above})
    assert value_of(find_cards(tree)) == ((place,) if hard else ())


def test_a_description_that_cannot_be_read_does_not_make_it_software() -> None:
    place = "sys/devices/platform/loop.0/sound/card0"
    tree = DrawnTree(
        files={f"{place}/id": b"x\n", "sys/devices/platform/loop.0/of_node": b"no link"},
        links={"sys/class/sound/card0": place},
    )
    assert value_of(find_cards(tree)) == (place,)


def test_no_loaded_driver_is_no_card_and_an_unreadable_class_is_not() -> None:
    assert value_of(find_cards(DrawnTree(folders=("sys/class/net",)))) == ()
    assert isinstance(find_cards(DrawnTree(folders=("proc",))), Absent)
    assert isinstance(find_cards(DrawnTree(files={"sys/class/sound": errno.EACCES})), Unreadable)
