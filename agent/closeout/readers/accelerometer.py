"""Accelerometers, whose axes must add up to gravity while the unit lies still.

Kernel path: `sys/bus/iio/devices/iio:deviceN/in_accel_{x,y,z}_*` in m/s²
(Documentation/ABI/testing/sysfs-bus-iio).
"""

from __future__ import annotations

from functools import partial
from typing import Final

from closeout.decode.fixed_point import as_thousandths, length_of
from closeout.decode.sensor_doubts import doubt_gravity
from closeout.kernel.tree import KernelTree
from closeout.model.inventory import Listing
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Absent, Reading, Value, combine, convert
from closeout.model.sensor import Accelerometer
from closeout.readers.attributes import read_text
from closeout.readers.first_told import first_told
from closeout.readers.iio_channel import (
    find_sensors,
    read_seat,
    read_value,
    sensor_folder,
    show_sensor,
)
from closeout.readers.measurement import collect_doubts
from closeout.readers.places import read_position
from closeout.readers.reader import Reader

CHANNEL: Final = late_pattern(r"in_accel_[xyz]_(raw|input)")
SHARED: Final = "in_accel"
MATRICES: Final = ("in_accel_mount_matrix", "in_mount_matrix", "mount_matrix")
WAKING: Final = "every axis reads 0, as while the sensor wakes up: read again"

Axes = tuple[Reading[int], Reading[int], Reading[int]]


def find_accelerometers(tree: KernelTree) -> Listing:
    """The places of all sensors with an axis of acceleration."""
    return find_sensors(tree, CHANNEL)


def read_accelerometer(tree: KernelTree, place: str) -> Accelerometer:
    """One accelerometer."""
    folder = sensor_folder(tree, place)
    name = read_text(tree, f"{folder}/name")
    x, y, z = _leave_out_waking(
        (_axis(tree, folder, "x"), _axis(tree, folder, "y"), _axis(tree, folder, "z"))
    )
    magnitude = combine(
        combine(x, y, lambda one, other: (one, other)),
        convert(z, lambda third: (third, 0)),
        lambda pair, third: length_of((*pair, third[0])),
    )
    return Accelerometer(
        place=place,
        label=show_sensor(name, folder),
        position=read_position(tree, folder),
        sensor=name,
        seat=read_seat(tree, folder),
        x_mm_s2=x,
        y_mm_s2=y,
        z_mm_s2=z,
        magnitude_mm_s2=magnitude,
        mount_matrix=_read_matrix(tree, folder),
        doubts=collect_doubts(magnitude, doubt_gravity),
    )


def _axis(tree: KernelTree, folder: str, axis: str) -> Reading[int]:
    return convert(read_value(tree, folder, f"{SHARED}_{axis}", SHARED), as_thousandths)


def _leave_out_waking(axes: Axes) -> Axes:
    """The axes; three zeros are no acceleration, as at rest there is gravity.

    A hub that wakes and does not answer within 5 s is read as 0
    (sensor_hub_input_attr_get_raw_value, drivers/hid/hid-sensor-hub.c).
    """
    if not all(isinstance(axis, Value) and axis.value == 0 for axis in axes):
        return axes
    x, y, z = (Absent(reason=WAKING, sources=axis.sources) for axis in axes)
    return x, y, z


def _read_matrix(tree: KernelTree, folder: str) -> Reading[str]:
    ways = [partial(read_text, tree, f"{folder}/{name}") for name in MATRICES]
    return first_told(ways, "the driver tells no mount matrix")


READERS: Final = (Reader(kind="accelerometer", find=find_accelerometers, read=read_accelerometer),)
