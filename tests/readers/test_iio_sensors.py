"""Sensors of movement, light, nearness and angle, as the kernel shows them."""

import errno
from dataclasses import replace

import pytest

from closeout.model.device import Position
from closeout.model.reading import Absent, Unreadable, Value
from closeout.readers.accelerometer import find_accelerometers, read_accelerometer
from closeout.readers.hinge_angle import find_hinge_angles, read_hinge_angle
from closeout.readers.light_sensor import find_light_sensors, read_light_sensor
from closeout.readers.proximity_sensor import find_proximity_sensors, read_proximity_sensor
from closeout.readers.reader import Reader
from closeout.readers.sensors import READERS
from strategies.drawn_sensors import HUB, TILT, Files, drawn_iio
from strategies.drawn_tree import Content, DrawnTree
from strategies.shown import value_of, values_of

SENSOR = f"{HUB}/iio:device2"
CHIP = "sys/devices/pci0000:00/0000:00:1f.4/i2c-1/1-0044/iio:device0"
IIO_READERS = READERS[2:]


def tilt(**changes: Content | None) -> DrawnTree:
    """An accelerometer; None takes a file away."""
    files = {**TILT, **changes}
    return drawn_iio((SENSOR, {name: told for name, told in files.items() if told is not None}))


def test_an_accelerometer_is_read_whole() -> None:
    tree = tilt()
    (place,) = value_of(find_accelerometers(tree))
    sensor = read_accelerometer(tree, place)
    assert place == f"{HUB}/accel_3d"
    assert (sensor.label, sensor.position) == ("accel_3d", Position.INTERNAL)
    assert values_of(sensor) == {
        "sensor": "accel_3d",
        "seat": "accel-display",
        "x_mm_s2": 0,
        "y_mm_s2": -29,
        "z_mm_s2": 9807,
        "magnitude_mm_s2": 9807,
        "mount_matrix": "1, 0, 0; 0, 1, 0; 0, 0, 1",
        "doubts": (),
    }
    assert sensor.z_mm_s2.sources == tuple(
        f"{SENSOR}/{name}" for name in ("in_accel_z_raw", "in_accel_offset", "in_accel_scale")
    )


def test_an_axis_may_have_its_own_scale_and_offset() -> None:
    tree = tilt(in_accel_z_scale=b"0.001\n", in_accel_z_offset=b"-100\n", in_accel_z_raw=b"9900\n")
    assert value_of(read_accelerometer(tree, SENSOR).z_mm_s2) == 9800


def test_without_scale_and_offset_the_count_is_the_value() -> None:
    tree = tilt(in_accel_scale=None, in_accel_offset=None, in_accel_z_raw=b"10\n")
    assert value_of(read_accelerometer(tree, SENSOR).z_mm_s2) == 10_000


@pytest.mark.parametrize("unread", ["in_accel_scale", "in_accel_offset", "in_accel_z_raw"])
def test_no_part_of_a_value_is_guessed(unread: str) -> None:
    for content in (errno.EIO, b"x\n"):
        sensor = read_accelerometer(tilt(**{unread: content}), SENSOR)
        for reading in (sensor.z_mm_s2, sensor.magnitude_mm_s2, sensor.doubts):
            assert isinstance(reading, Unreadable)


def test_three_zeros_are_a_sensor_that_wakes() -> None:
    tree = tilt(in_accel_y_raw=b"0\n", in_accel_z_raw=b"0\n")
    sensor = read_accelerometer(tree, SENSOR)
    for reading in (sensor.x_mm_s2, sensor.z_mm_s2, sensor.magnitude_mm_s2, sensor.doubts):
        assert isinstance(reading, Absent)
        assert "wakes up" in reading.reason


@pytest.mark.parametrize(("z", "doubted"), [(b"960\n", False), (b"1100\n", True), (b"1\n", True)])
def test_a_unit_at_rest_shows_gravity(z: bytes, *, doubted: bool) -> None:
    sensor = read_accelerometer(tilt(in_accel_z_raw=z), SENSOR)
    assert bool(value_of(sensor.doubts)) == doubted


def test_an_older_kernel_tells_the_seat_and_the_matrix_elsewhere() -> None:
    tree = tilt(
        label=None, location=b"base\n", in_accel_mount_matrix=None, in_mount_matrix=b"0, 1, 0\n"
    )
    sensor = read_accelerometer(tree, SENSOR)
    assert value_of(sensor.seat) == "base"
    assert value_of(sensor.mount_matrix) == "0, 1, 0"


def test_an_accelerometer_without_an_axis_has_no_magnitude() -> None:
    sensor = read_accelerometer(tilt(in_accel_z_raw=None), SENSOR)
    assert isinstance(sensor.z_mm_s2, Absent)
    assert isinstance(sensor.magnitude_mm_s2, Absent)


# Light and nearness


def light(**files: Content) -> DrawnTree:
    return drawn_iio((CHIP, {"name": b"drawn\n", **files}))


@pytest.mark.parametrize(
    ("files", "millilux"),
    [
        ({"in_illuminance_raw": b"312\n"}, 312_000),
        ({"in_illuminance_raw": b"312\n", "in_illuminance_scale": b"0.100000000\n"}, 31_200),
        ({"in_illuminance_input": b"140\n", "in_illuminance_scale": b"2000\n"}, 140_000),
        ({"in_illuminance0_input": b"12.345600\n"}, 12_346),
    ],
)
def test_light(files: dict[str, Content], millilux: int) -> None:
    """The scale of a processed value is a range of the chip (drivers/iio/light/isl29028.c)."""
    tree = light(**files)
    (place,) = value_of(find_light_sensors(tree))
    sensor = read_light_sensor(tree, place)
    assert value_of(sensor.illuminance_millilux) == millilux
    assert value_of(sensor.doubts) == ()
    assert sensor.position is Position.INTERNAL


def test_no_light_is_told_with_its_reason() -> None:
    sensor = read_light_sensor(light(in_illuminance_input=b"0\n"), CHIP)
    assert value_of(sensor.illuminance_millilux) == 0
    assert "it is dark" in value_of(sensor.doubts)[0]


def test_a_sensor_of_light_and_nearness_is_both() -> None:
    tree = light(
        in_illuminance_input=b"140\n", in_proximity_raw=b"33\n", in_proximity_nearlevel=b"50\n"
    )
    assert find_light_sensors(tree) == find_proximity_sensors(tree)
    (place,) = value_of(find_proximity_sensors(tree))
    assert values_of(read_proximity_sensor(tree, place)) == {
        "sensor": "drawn",
        "level": 33,
        "near_level": 50,
    }


def test_a_distance_is_measured_in_metres() -> None:
    tree = light(
        in_distance_raw=b"420\n", in_distance_scale=b"0.001000\n", label=b"proximity-lap\n"
    )
    (place,) = value_of(find_proximity_sensors(tree))
    sensor = read_proximity_sensor(tree, place)
    assert value_of(sensor.distance_millimetres) == 420
    assert value_of(sensor.seat) == "proximity-lap"
    assert isinstance(sensor.level, Absent)


# Angle


def test_the_hinge_is_told_in_degrees() -> None:
    tree = drawn_iio(
        (
            SENSOR,
            {
                "name": b"hinge\n",
                "in_angl0_raw": b"110\n",
                "in_angl0_label": b"hinge\n",
                "in_angl1_raw": b"20\n",
                "in_angl1_label": b"screen\n",
                "in_angl_scale": b"0.017453293\n",
            },
        )
    )
    (place,) = value_of(find_hinge_angles(tree))
    sensor = read_hinge_angle(tree, place)
    assert values_of(sensor) == {
        "sensor": "hinge",
        "seat": "hinge",
        "angle_millidegrees": 110_000,
    }


def test_an_angle_without_a_label_has_the_seat_of_its_sensor() -> None:
    sensor = read_hinge_angle(
        drawn_iio((SENSOR, {"in_angl_raw": b"1\n", "label": b"lid\n"})), SENSOR
    )
    assert value_of(sensor.seat) == "lid"
    assert value_of(sensor.angle_millidegrees) == 57_296
    assert sensor.label == "iio:device2"


# Listings


@pytest.mark.parametrize("reader", IIO_READERS, ids=lambda reader: reader.kind)
def test_a_machine_without_the_subsystem_has_none(reader: Reader) -> None:
    assert value_of(reader.find(DrawnTree(folders=("sys/class/net",)))) == ()
    assert isinstance(reader.find(DrawnTree()), Absent)


@pytest.mark.parametrize("reader", IIO_READERS, ids=lambda reader: reader.kind)
@pytest.mark.parametrize("folder", ["sys/bus/iio", "sys/bus/iio/devices", SENSOR])
def test_what_cannot_be_listed_is_not_empty(reader: Reader, folder: str) -> None:
    tree = tilt()
    files = {path: told for path, told in tree.files.items() if not path.startswith(folder)}
    listing = reader.find(replace(tree, files={**files, folder: errno.EACCES}))
    assert isinstance(listing, Unreadable)
    assert listing.error == "EACCES"


@pytest.mark.parametrize("reader", IIO_READERS, ids=lambda reader: reader.kind)
def test_a_sensor_that_went_away_has_no_values(reader: Reader) -> None:
    device = reader.read(DrawnTree(), f"{HUB}/gone")
    assert values_of(device) == {}
    assert device.label == "gone"


@pytest.mark.parametrize("reader", IIO_READERS, ids=lambda reader: reader.kind)
def test_other_sensors_are_none_of_the_kind(reader: Reader) -> None:
    files: Files = {"name": b"gyro_3d\n", "in_anglvel_x_raw": b"0\n"}
    listing = reader.find(drawn_iio((SENSOR, files)))
    assert listing == Value(value=(), sources=("sys/bus/iio/devices",))


def test_the_list_is_in_the_order_of_the_kinds() -> None:
    assert [reader.kind for reader in READERS] == [
        "temperature",
        "fan",
        "accelerometer",
        "light_sensor",
        "proximity_sensor",
        "hinge_angle",
    ]
