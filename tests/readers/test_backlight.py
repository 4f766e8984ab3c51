"""Backlight controls, on drawn machines."""

import errno

import pytest

from closeout.model.device import Position
from closeout.model.display import Backlight
from closeout.model.reading import Absent, Blank, Reading, Unreadable, Value
from closeout.readers.backlight import READERS
from strategies.drawn_tree import Content, DrawnTree

(READER,) = READERS
GRAPHICS = "sys/devices/pci0000:00/0000:00:02.0/drm/card1/card1-eDP-1"
HEALTHY: dict[str, Content] = {
    "type": b"raw\n",
    "brightness": b"400\n",
    "actual_brightness": b"398\n",
    "max_brightness": b"937\n",
    "bl_power": b"0\n",
    "scale": b"linear\n",
}


def machine(**controls: dict[str, Content]) -> DrawnTree:
    files = {
        f"{GRAPHICS}/{name}/{file}": content
        for name, told in controls.items()
        for file, content in told.items()
    }
    links = {f"sys/class/backlight/{name}": f"{GRAPHICS}/{name}" for name in controls}
    return DrawnTree(files=files, links=links)


def read(tree: DrawnTree, name: str = "panel") -> Backlight:
    found = READER.read(tree, f"{GRAPHICS}/{name}")
    assert isinstance(found, Backlight)
    return found


def control(**changes: Content) -> Backlight:
    return read(machine(panel={**HEALTHY, **changes}))


def content(reading: Reading[object]) -> object:
    return reading.value if isinstance(reading, Value) else type(reading)


def test_a_backlight() -> None:
    tree = machine(panel=HEALTHY)
    listing = READER.find(tree)
    assert isinstance(listing, Value)
    assert listing.value == (f"{GRAPHICS}/panel",)
    found = read(tree)
    place = f"{GRAPHICS}/panel"
    assert (found.place, found.label) == (place, "panel")
    assert found.position is Position.INTERNAL
    assert found.control_type == Value(value="raw", sources=(f"{place}/type",))
    assert found.brightness == Value(value=400, sources=(f"{place}/brightness",))
    assert found.actual_brightness == Value(value=398, sources=(f"{place}/actual_brightness",))
    assert found.max_brightness == Value(value=937, sources=(f"{place}/max_brightness",))
    assert content(found.level_percent) == 42
    assert content(found.in_range) is True
    assert content(found.power) == "on"
    assert content(found.scale) == "linear"
    assert content(found.preferred) is True


def test_hardware_that_does_not_answer() -> None:
    found = control(actual_brightness=errno.ENXIO)
    assert isinstance(found.actual_brightness, Unreadable)
    assert content(found.in_range) is Unreadable
    bare = read(DrawnTree(files={f"{GRAPHICS}/panel/brightness": b"4\n"}))
    assert isinstance(bare.max_brightness, Absent)
    assert isinstance(bare.preferred, Absent)


@pytest.mark.parametrize(
    ("name", "told", "expected"),
    [
        ("brightness", b"938\n", False),
        ("brightness", b"-1\n", False),
        ("actual_brightness", b"938\n", False),
        ("max_brightness", b"0\n", False),
        ("brightness", b"937\n", True),
        ("brightness", b"x\n", Unreadable),
        ("actual_brightness", errno.ENOENT, Absent),
        ("max_brightness", b"\n", Blank),
    ],
)
def test_range(name: str, told: Content, expected: object) -> None:
    assert content(control(**{name: told}).in_range) == expected


@pytest.mark.parametrize(
    ("told", "expected"), [(b"4\n", "off"), (b"1\n", "reduced"), (b"5\n", Unreadable)]
)
def test_power(told: bytes, expected: object) -> None:
    assert content(control(bl_power=told).power) == expected


def test_of_several_controls_the_firmwares_is_the_best() -> None:
    """Documentation/ABI/stable/sysfs-class-backlight, `type`: firmware, platform, raw."""
    sorts = {"acpi": "firmware", "vendor": "platform", "driver": "raw", "odd": "new"}
    for left_out, best in (("", "acpi"), ("acpi", "vendor"), ("vendor", "acpi")):
        told: dict[str, dict[str, Content]] = {
            name: {"type": f"{sort}\n".encode()} for name, sort in sorts.items() if name != left_out
        }
        tree = machine(**told)
        assert [name for name in told if content(read(tree, name).preferred) is True] == [best]


def test_preference_where_the_class_cannot_be_listed() -> None:
    files: dict[str, Content] = {
        f"{GRAPHICS}/panel/type": b"raw\n",
        "sys/class/backlight": errno.EACCES,
    }
    assert content(read(DrawnTree(files=files)).preferred) is Unreadable
