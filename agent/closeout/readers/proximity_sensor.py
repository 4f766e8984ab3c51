"""Sensors that tell whether something is near.

Kernel path: `sys/bus/iio/devices/iio:deviceN` with `in_proximity*`, most without a unit, and
`in_distance*` in metres (Documentation/ABI/testing/sysfs-bus-iio).
"""

from __future__ import annotations

from typing import Final

from closeout.decode.fixed_point import as_thousandths
from closeout.kernel.tree import KernelTree
from closeout.model.inventory import Listing
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Absent, Reading, convert
from closeout.model.sensor import ProximitySensor
from closeout.readers.attributes import read_integer, read_text
from closeout.readers.iio_channel import (
    NOT_MEASURED,
    find_sensors,
    first_channel,
    read_seat,
    read_value,
    sensor_folder,
    show_sensor,
)
from closeout.readers.places import read_position
from closeout.readers.reader import Reader

EITHER: Final = late_pattern(r"in_(proximity|distance)\d*_(raw|input)")
NEARNESS: Final = late_pattern(r"(in_proximity\d*)_raw")
DISTANCE: Final = late_pattern(r"(in_distance\d*)_(raw|input)")


def find_proximity_sensors(tree: KernelTree) -> Listing:
    """The places of all sensors of nearness or distance."""
    return find_sensors(tree, EITHER)


def read_proximity_sensor(tree: KernelTree, place: str) -> ProximitySensor:
    """One sensor."""
    folder = sensor_folder(tree, place)
    name = read_text(tree, f"{folder}/name")
    nearness = first_channel(tree, folder, NEARNESS)
    distance = first_channel(tree, folder, DISTANCE)
    return ProximitySensor(
        place=place,
        label=show_sensor(name, folder),
        position=read_position(tree, folder),
        sensor=name,
        seat=read_seat(tree, folder),
        level=_read_count(tree, folder, nearness, "raw"),
        near_level=_read_count(tree, folder, nearness, "nearlevel"),
        distance_millimetres=convert(
            read_value(tree, folder, distance, "in_distance"), as_thousandths
        ),
    )


def _read_count(tree: KernelTree, folder: str, channel: str, what: str) -> Reading[int]:
    if not channel:
        return Absent(reason=NOT_MEASURED, sources=(folder,))
    return read_integer(tree, f"{folder}/{channel}_{what}")


READERS: Final = (
    Reader(kind="proximity_sensor", find=find_proximity_sensors, read=read_proximity_sensor),
)
