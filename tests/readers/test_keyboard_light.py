"""Lights under the keys, on drawn machines."""

import errno

import pytest

from closeout.model.device import Position
from closeout.model.input import KeyboardLight
from closeout.model.reading import Absent, Reading, Unreadable, Value
from closeout.readers.keyboard_light import READERS
from strategies.drawn_tree import Content, DrawnTree

(READER,) = READERS
PLATFORM = "sys/devices/platform/drawn/leds/drawn::kbd_backlight"


def light(place: str = PLATFORM, **files: Content) -> KeyboardLight:
    drawn = {f"{place}/{name}": content for name, content in files.items()}
    found = READER.read(DrawnTree(files=drawn), place)
    assert isinstance(found, KeyboardLight)
    return found


def content(reading: Reading[object]) -> object:
    return reading.value if isinstance(reading, Value) else type(reading)


def test_a_light() -> None:
    found = light(brightness=b"1\n", max_brightness=b"3\n", brightness_hw_changed=b"2\n")
    assert (found.place, found.label) == (PLATFORM, "drawn::kbd_backlight")
    assert found.position is Position.INTERNAL
    assert (content(found.brightness), content(found.max_brightness)) == (1, 3)
    assert found.level_percent == Value(
        value=33, sources=(f"{PLATFORM}/brightness", f"{PLATFORM}/max_brightness")
    )
    assert content(found.changed_by_keys) == 2


def test_no_change_yet_is_absent_and_other_failures_are_not() -> None:
    """LED class, brightness_hw_changed_show: ENODATA until the hardware has changed it."""
    assert content(light(brightness_hw_changed=errno.ENODATA).changed_by_keys) is Absent
    assert content(light(brightness_hw_changed=errno.EIO).changed_by_keys) is Unreadable


@pytest.mark.parametrize(
    ("level", "highest", "expected"),
    [
        (b"0\n", b"100\n", 0),
        (b"5\n", b"3\n", Unreadable),
        (b"-1\n", b"3\n", Unreadable),
        (b"0\n", b"0\n", Unreadable),
        (errno.EIO, b"3\n", Unreadable),
        (b"1\n", errno.EIO, Unreadable),
        (b"1\n", errno.ENOENT, Absent),
    ],
)
def test_level(level: Content, highest: Content, expected: object) -> None:
    assert content(light(brightness=level, max_brightness=highest).level_percent) == expected


def test_which_leds_are_lights_of_a_keyboard() -> None:
    names = (
        *("drawn::kbd_backlight", "drawn:white:kbd_backlight-1", "rgb:kbd_backlight_2"),
        *("kbd_backlight", "input0::capslock", "drawn::kbd_backlight_zone", "platform::micmute"),
    )
    tree = DrawnTree(files={f"sys/class/leds/{name}/brightness": b"0\n" for name in names})
    listing = READER.find(tree)
    assert isinstance(listing, Value)
    assert {place.rsplit("/", 1)[-1] for place in listing.value} == set(names[:4])
    assert isinstance(READER.find(DrawnTree()), Absent)
    denied = DrawnTree(files={"sys/class/leds": errno.EACCES})
    assert isinstance(READER.find(denied), Unreadable)


def test_light_of_a_keyboard_on_bluetooth_is_outside() -> None:
    place = "sys/devices/virtual/misc/uhid/0005:FE41:0102.0003/leds/drawn::kbd_backlight"
    assert light(place).position is Position.EXTERNAL
