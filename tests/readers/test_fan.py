"""Fans of chips and of the firmware, each fan once."""

import errno
from dataclasses import replace

import pytest

from closeout.model.device import Position
from closeout.model.reading import Absent, Unreadable
from closeout.model.thermal import Fan
from closeout.readers.fan import READERS, find_fans, read_fan
from strategies.drawn_sensors import ACPI_FAN, FAN, FAN_NODE, Files, drawn_chips
from strategies.drawn_tree import Content, DrawnTree
from strategies.shown import value_of, values_of

CHIP = f"{FAN}/hwmon/hwmon2"
COOLING = "sys/devices/virtual/thermal/cooling_device4"


def firmware_fan(chips: tuple[tuple[str, Files], ...] = (), **changes: Content | None) -> DrawnTree:
    """A fan of the firmware with its cooling device; None takes a file away."""
    files: dict[str, Content | None] = {
        f"{COOLING}/type": b"Fan\n",
        f"{COOLING}/cur_state": b"1\n",
        f"{COOLING}/max_state": b"2\n",
        f"{FAN_NODE}/fan_speed_rpm": b"2215\n",
    }
    places = {"type": COOLING, "cur_state": COOLING, "fan_speed_rpm": FAN_NODE}
    files |= {f"{places[name]}/{name}": content for name, content in changes.items()}
    drawn = drawn_chips(*chips)
    links = {
        "sys/class/thermal/cooling_device4": COOLING,
        f"{COOLING}/device": FAN,
        f"{FAN}/thermal_cooling": COOLING,
        f"{FAN}/firmware_node": FAN_NODE,
    }
    kept = {path: content for path, content in files.items() if content is not None}
    return replace(drawn, files={**drawn.files, **kept}, links={**drawn.links, **links})


def found(tree: DrawnTree) -> tuple[str, ...]:
    return value_of(find_fans(tree))


def read_only(tree: DrawnTree) -> Fan:
    (place,) = found(tree)
    return read_fan(tree, place)


def channel(**changes: Content) -> Fan:
    files: Files = {"name": b"drawn\n", "fan1_input": b"2450\n", **changes}
    return read_only(drawn_chips((CHIP, files)))


def test_a_fan_with_chip_and_cooling_device_is_one_fan() -> None:
    fan = read_only(firmware_fan(chips=((CHIP, ACPI_FAN),)))
    assert fan.place == f"{FAN}/hwmon/acpi_fan/fan1"
    assert (fan.label, fan.position) == ("acpi_fan fan1", Position.INTERNAL)
    assert values_of(fan) == {
        "chip": "acpi_fan",
        "channel": "fan1",
        "sensor": "fan1",
        "belongs_to": "PNP0C0B:00",
        "speed_rpm": 2215,
        "target_rpm": 2200,
        "cooling_step": 1,
        "most_cooling_steps": 2,
        "doubts": (),
    }


def test_before_linux_6_11_the_firmware_alone_shows_it() -> None:
    fan = read_only(firmware_fan())
    assert (fan.place, fan.label) == (FAN, "PNP0C0B:00")
    assert values_of(fan) == {
        "chip": "firmware",
        "channel": "fan",
        "sensor": "PNP0C0B:00",
        "belongs_to": "PNP0C0B:00",
        "speed_rpm": 2215,
        "cooling_step": 1,
        "most_cooling_steps": 2,
        "doubts": (),
    }
    assert isinstance(fan.target_rpm, Absent)


def test_a_fan_of_the_firmware_without_a_speed_is_a_fan() -> None:
    fan = read_only(firmware_fan(fan_speed_rpm=None))
    assert isinstance(fan.speed_rpm, Absent)
    assert value_of(fan.cooling_step) == 1


def test_a_cooling_device_that_tells_a_speed_is_a_fan_by_any_name() -> None:
    """Fans with other ids than PNP0C0B are called by their name in the firmware."""
    assert found(firmware_fan(type=b"TFN1\n")) == (FAN,)
    assert found(firmware_fan(type=b"TFN1\n", fan_speed_rpm=errno.EIO)) == (FAN,)
    assert found(firmware_fan(type=b"Processor\n", fan_speed_rpm=None)) == ()


def test_a_bare_cooling_device_has_its_own_steps() -> None:
    tree = DrawnTree(
        files={f"{COOLING}/type": b"Fan\n", f"{COOLING}/cur_state": b"3\n"},
        links={"sys/class/thermal/cooling_device4": COOLING},
        folders=("sys/class/net", "sys/class/hwmon"),
    )
    fan = read_only(tree)
    assert fan.place == COOLING
    assert value_of(fan.cooling_step) == 3


def test_a_cooling_device_that_does_not_tell_its_type_may_be_a_fan() -> None:
    assert isinstance(find_fans(firmware_fan(type=errno.EIO)), Unreadable)


@pytest.mark.parametrize("folder", ["sys/class/hwmon", "sys/class/thermal"])
def test_what_cannot_be_listed_is_not_empty(folder: str) -> None:
    tree = DrawnTree(
        files={folder: errno.EIO}, folders=("sys/class/net", "sys/class/hwmon", "sys/class/thermal")
    )
    assert isinstance(find_fans(tree), Unreadable)


def test_a_fan_that_stands_still_is_no_doubt() -> None:
    fan = channel(fan1_input=b"0\n")
    assert value_of(fan.speed_rpm) == 0
    assert value_of(fan.doubts) == ()


@pytest.mark.parametrize("content", [b"65535\n", b"-1\n", b"4294967295\n"])
def test_what_stands_for_no_counter_is_no_speed(content: bytes) -> None:
    for fan in (channel(fan1_input=content), read_only(firmware_fan(fan_speed_rpm=content))):
        assert isinstance(fan.speed_rpm, Absent)
        assert content.decode().strip() in fan.speed_rpm.reason


@pytest.mark.parametrize("number", [errno.ENODEV, errno.EIO, errno.EAGAIN, errno.ENODATA])
def test_a_speed_that_cannot_be_read_is_none(number: int) -> None:
    fan = channel(fan1_input=number)
    assert isinstance(fan.speed_rpm, Unreadable)
    assert isinstance(fan.doubts, Unreadable)


def test_limits_and_flags_of_a_chip() -> None:
    fan = channel(
        fan1_label=b"cpu_fan\n",
        fan1_min=b"0\n",
        fan1_max=b"5200\n",
        fan1_alarm=b"1\n",
        fan1_fault=b"0\n",
    )
    assert value_of(fan.sensor) == "cpu_fan"
    assert value_of(fan.max_rpm) == 5200
    assert value_of(fan.alarm)
    assert not value_of(fan.fault)
    assert isinstance(fan.min_rpm, Absent)
    assert isinstance(fan.cooling_step, Absent)


def test_a_fan_faster_than_any_is_doubted() -> None:
    assert len(value_of(channel(fan1_input=b"33000\n").doubts)) == 1


def test_a_machine_without_fans_has_none() -> None:
    assert found(DrawnTree(folders=("sys/class/net",))) == ()
    assert isinstance(find_fans(DrawnTree()), Absent)
    gone = read_fan(DrawnTree(), "sys/devices/gone/hwmon/gone/fan1")
    assert isinstance(gone.speed_rpm, Absent)
    assert gone.label == "chip fan1"


def test_the_list_names_the_kind() -> None:
    assert [reader.kind for reader in READERS] == ["fan"]
