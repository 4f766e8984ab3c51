"""Temperatures of chips and zones, each sensor once."""

import errno
from dataclasses import replace

import pytest

from closeout.model.device import Position
from closeout.model.reading import Absent, Unreadable, Value
from closeout.model.thermal import Temperature
from closeout.readers.temperature import READERS, find_temperatures, read_temperature
from strategies.drawn_sensors import (
    COMPOSITE,
    CORETEMP,
    DRIVE,
    FIRMWARE_ZONE,
    PACKAGE,
    ZONES,
    Files,
    drawn_chips,
    drawn_zones,
)
from strategies.drawn_tree import Content, DrawnTree
from strategies.shown import value_of, values_of

CHIP = f"{CORETEMP}/hwmon/hwmon3"


def found(tree: DrawnTree) -> tuple[str, ...]:
    return value_of(find_temperatures(tree))


def read_only(tree: DrawnTree) -> Temperature:
    (place,) = found(tree)
    return read_temperature(tree, place)


def channel(**changes: Content) -> Temperature:
    files: Files = {"name": b"drawn\n", "temp1_input": b"40000\n", **changes}
    return read_only(drawn_chips((CHIP, files)))


def test_a_channel_is_read_whole() -> None:
    tree = drawn_chips((CHIP, PACKAGE))
    heat = read_only(tree)
    assert heat.place == f"{CORETEMP}/hwmon/coretemp/temp1"
    assert (heat.label, heat.position) == ("coretemp temp1", Position.INTERNAL)
    assert values_of(heat) == {
        "chip": "coretemp",
        "channel": "temp1",
        "sensor": "Package id 0",
        "belongs_to": "coretemp.0",
        "now_millicelsius": 47_000,
        "max_millicelsius": 100_000,
        "critical_millicelsius": 100_000,
        "alarm": False,
        "doubts": (),
    }
    assert heat.now_millicelsius.sources == (f"{CHIP}/temp1_input",)
    assert isinstance(heat.fault, Absent)


def test_the_number_of_a_chip_does_not_change_its_place() -> None:
    first = drawn_chips((f"{CORETEMP}/hwmon/hwmon0", PACKAGE))
    later = drawn_chips((f"{CORETEMP}/hwmon/hwmon12", PACKAGE))
    assert found(first) == found(later)
    assert value_of(read_only(later).now_millicelsius) == 47_000


def test_two_chips_of_one_name_in_one_folder_keep_their_numbers() -> None:
    one, other = f"{CORETEMP}/hwmon/hwmon2", f"{CORETEMP}/hwmon/hwmon10"
    tree = drawn_chips((one, PACKAGE), (other, {**PACKAGE, "temp1_input": b"50000\n"}))
    assert found(tree) == (f"{one}/temp1", f"{other}/temp1")
    second = read_temperature(tree, f"{other}/temp1")
    assert value_of(second.now_millicelsius) == 50_000


@pytest.mark.parametrize("name", [b"\n", b"a/b\n", b"hwmon7\n", errno.EIO])
def test_a_chip_without_a_usable_name_keeps_its_number(name: Content) -> None:
    tree = drawn_chips((CHIP, {**PACKAGE, "name": name}))
    assert found(tree) == (f"{CHIP}/temp1",)
    assert value_of(read_only(tree).now_millicelsius) == 47_000


def test_channels_come_by_their_numbers_and_only_with_a_value() -> None:
    files: Files = {
        "name": b"drawn\n",
        **{f"temp{number}_input": b"40000\n" for number in (1, 2, 10)},
        "temp3_label": b"no value\n",
        "fan1_input": b"0\n",
    }
    places = found(drawn_chips((CHIP, files)))
    assert [place.rsplit("/", 1)[-1] for place in places] == ["temp1", "temp2", "temp10"]


def test_a_drive_sits_behind_its_controller() -> None:
    heat = read_only(drawn_chips((f"{DRIVE}/hwmon1", COMPOSITE)))
    assert heat.place == f"{DRIVE}/nvme/temp1"
    assert value_of(heat.belongs_to) == "nvme0"
    assert value_of(heat.critical_millicelsius) == 84_850
    assert heat.position is Position.INTERNAL


def test_a_chip_on_an_i2c_bus_is_inside() -> None:
    """`1-0048` looks like a USB device, and is a chip on bus 1 at address 48h."""
    chip = "sys/devices/pci0000:00/0000:00:1f.4/i2c-1/1-0048/hwmon/hwmon4"
    heat = read_only(drawn_chips((chip, {"name": b"lm75b\n", "temp1_input": b"42000\n"})))
    assert heat.position is Position.INTERNAL


def test_a_chip_behind_an_external_port_is_outside() -> None:
    device = "sys/devices/pci0000:00/0000:00:14.0/usb1/1-2"
    chip = f"{device}/1-2:1.0/hwmon/hwmon4"
    tree = drawn_chips((chip, {"name": b"cooler\n", "temp1_input": b"30000\n"}))
    outside = replace(tree, files={**tree.files, f"{device}/removable": b"removable\n"})
    assert read_only(outside).position is Position.EXTERNAL


@pytest.mark.parametrize(
    ("content", "word"),
    [(b"-273150\n", "absolute zero"), (b"127000\n", "no sensor"), (b"255000\n", "every bit")],
)
def test_what_stands_for_no_sensor_is_absent(content: bytes, word: str) -> None:
    heat = channel(temp1_input=content)
    assert isinstance(heat.now_millicelsius, Absent)
    assert word in heat.now_millicelsius.reason
    assert isinstance(heat.doubts, Absent)


@pytest.mark.parametrize("limit", [b"0\n", b"127000\n", b"-273150\n", b"255000\n"])
def test_a_limit_at_the_end_of_its_scale_is_none(limit: bytes) -> None:
    heat = channel(temp1_max=limit, temp1_crit=limit)
    for reading in (heat.max_millicelsius, heat.critical_millicelsius):
        assert isinstance(reading, Absent)
        assert "no limit is set" in reading.reason


@pytest.mark.parametrize(
    ("number", "error"),
    [
        (errno.ENODATA, "ENODATA"),
        (errno.EAGAIN, "EAGAIN"),
        (errno.EIO, "EIO"),
        (errno.EACCES, "EACCES"),
        (errno.ENODEV, "ENODEV"),
    ],
)
def test_a_sample_that_fails_is_no_temperature(number: int, error: str) -> None:
    heat = channel(temp1_input=number, temp1_crit=number)
    for reading in (heat.now_millicelsius, heat.doubts, heat.critical_millicelsius):
        assert isinstance(reading, Unreadable)
        assert reading.error == error


def test_a_sensor_without_a_label_is_called_by_its_channel() -> None:
    assert value_of(channel().sensor) == "temp1"
    assert isinstance(channel(temp1_label=errno.EIO).sensor, Unreadable)


def test_a_chip_whose_files_are_gone_has_no_temperature() -> None:
    heat = read_temperature(drawn_chips((CHIP, PACKAGE)), f"{CORETEMP}/hwmon/gone/temp1")
    assert isinstance(heat.now_millicelsius, Absent)
    assert heat.label == "chip temp1"


@pytest.mark.parametrize(
    ("files", "alarm"),
    [
        ({"temp1_alarm": b"1\n"}, True),
        ({"temp1_max_alarm": b"0\n", "temp1_crit_alarm": b"1\n"}, True),
        ({"temp1_max_alarm": errno.EIO, "temp1_crit_alarm": b"1\n"}, True),
        ({"temp1_max_alarm": b"0\n"}, False),
    ],
)
def test_any_alarm_is_an_alarm(files: dict[str, Content], *, alarm: bool) -> None:
    assert value_of(channel(**files).alarm) == alarm


def test_an_alarm_that_cannot_be_read_is_not_silent() -> None:
    heat = channel(temp1_max_alarm=b"0\n", temp1_crit_alarm=errno.EIO, temp1_fault=b"1\n")
    assert isinstance(heat.alarm, Unreadable)
    assert value_of(heat.fault)


def test_a_temperature_above_its_limit_is_doubted() -> None:
    heat = channel(temp1_input=b"105000\n", temp1_crit=b"100000\n")
    (doubt,) = value_of(heat.doubts)
    assert "switched off" in doubt


def test_a_driver_of_the_old_sort_has_its_files_at_the_device() -> None:
    files: dict[str, Content] = {f"{CORETEMP}/{name}": told for name, told in PACKAGE.items()}
    links = {"sys/class/hwmon/hwmon3": CHIP, f"{CHIP}/device": CORETEMP}
    tree = DrawnTree(files=files, links=links, folders=("sys/class/net", "sys/class/thermal", CHIP))
    heat = read_only(tree)
    assert value_of(heat.now_millicelsius) == 47_000
    assert value_of(heat.chip) == "coretemp"


# Zones


def test_a_zone_is_read_whole() -> None:
    heat = read_only(drawn_zones(thermal_zone0=FIRMWARE_ZONE))
    assert heat.place == f"{ZONES}/acpitz"
    assert (heat.label, heat.position) == ("thermal_zone0", Position.INTERNAL)
    assert values_of(heat) == {
        "chip": "acpitz",
        "channel": "zone",
        "sensor": "acpitz",
        "belongs_to": "LNXTHERM:00",
        "now_millicelsius": 41_000,
        "critical_millicelsius": 100_000,
        "doubts": (),
    }


def test_the_chip_that_a_zone_makes_is_the_same_sensor() -> None:
    zone = drawn_zones(thermal_zone0=FIRMWARE_ZONE)
    chips = drawn_chips(
        (f"{ZONES}/thermal_zone0/hwmon0", {"name": b"acpitz\n", "temp1_input": b"41000\n"}),
        ("sys/devices/AC/power_supply/BAT0/hwmon5", {"name": b"BAT0\n", "temp1_input": b"30000\n"}),
    )
    tree = DrawnTree(
        files={**zone.files, **chips.files},
        links={**zone.links, **chips.links},
        folders=zone.folders,
    )
    assert found(tree) == (f"{ZONES}/acpitz",)


def test_zones_of_one_type_keep_their_numbers() -> None:
    tree = drawn_zones(thermal_zone0=FIRMWARE_ZONE, thermal_zone10={"type": b"acpitz\n"})
    assert found(tree) == (f"{ZONES}/thermal_zone0", f"{ZONES}/thermal_zone10")
    assert value_of(read_temperature(tree, f"{ZONES}/thermal_zone0").now_millicelsius) == 41_000


@pytest.mark.parametrize("constant", [b"27800\n", b"29800\n", b"0\n"])
def test_a_dummy_of_firmware_is_a_doubt_and_no_absence(constant: bytes) -> None:
    heat = read_only(drawn_zones(thermal_zone0={**FIRMWARE_ZONE, "temp": constant}))
    assert value_of(heat.now_millicelsius) == int(constant)
    assert len(value_of(heat.doubts)) == 1


def test_the_same_number_in_another_zone_is_no_dummy() -> None:
    other: Files = {**FIRMWARE_ZONE, "type": b"x86_pkg_temp\n", "temp": b"29800\n"}
    assert value_of(read_only(drawn_zones(thermal_zone0=other)).doubts) == ()


def test_a_zone_without_a_sample_is_unreadable() -> None:
    heat = read_only(drawn_zones(thermal_zone0={**FIRMWARE_ZONE, "temp": errno.ENODATA}))
    assert isinstance(heat.now_millicelsius, Unreadable)
    assert heat.now_millicelsius.advice == "no sample yet; read again"


def test_a_zone_without_device_or_trip_points_is_somewhere() -> None:
    files: dict[str, Content] = {f"{ZONES}/thermal_zone0/type": b"pch\n"}
    tree = DrawnTree(
        files=files,
        links={"sys/class/thermal/thermal_zone0": f"{ZONES}/thermal_zone0"},
        folders=("sys/class/net", "sys/class/hwmon"),
    )
    heat = read_only(tree)
    assert heat.position is Position.UNKNOWN
    assert isinstance(heat.belongs_to, Absent)
    assert isinstance(heat.critical_millicelsius, Absent)
    gone = read_temperature(tree, f"{ZONES}/gone")
    assert isinstance(gone.critical_millicelsius, Absent)


# Listings


@pytest.mark.parametrize("folder", ["sys/class/hwmon", "sys/class/thermal", CHIP])
def test_what_cannot_be_listed_is_not_empty(folder: str) -> None:
    tree = drawn_chips((CHIP, PACKAGE))
    files = {path: told for path, told in tree.files.items() if not path.startswith(folder)}
    listing = find_temperatures(replace(tree, files={**files, folder: errno.EIO}))
    assert isinstance(listing, Unreadable)
    assert listing.error == "EIO"


def test_a_machine_without_monitoring_has_none() -> None:
    assert find_temperatures(DrawnTree(folders=("sys/class/net",))) == Value(
        value=(), sources=("sys/class/hwmon", "sys/class", "sys/class/thermal", "sys/class")
    )
    assert isinstance(find_temperatures(DrawnTree()), Absent)


def test_the_list_names_the_kind() -> None:
    assert [reader.kind for reader in READERS] == ["temperature"]
