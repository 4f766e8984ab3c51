"""Sensors of the light around the unit.

Kernel path: `sys/bus/iio/devices/iio:deviceN/in_illuminance*` in lux
(Documentation/ABI/testing/sysfs-bus-iio).
"""

from __future__ import annotations

from typing import Final

from closeout.decode.fixed_point import as_thousandths
from closeout.decode.sensor_doubts import doubt_light
from closeout.kernel.tree import KernelTree
from closeout.model.inventory import Listing
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import convert
from closeout.model.sensor import LightSensor
from closeout.readers.attributes import read_text
from closeout.readers.iio_channel import (
    find_sensors,
    first_channel,
    read_seat,
    read_value,
    sensor_folder,
    show_sensor,
)
from closeout.readers.measurement import collect_doubts
from closeout.readers.places import read_position
from closeout.readers.reader import Reader

CHANNEL: Final = late_pattern(r"(in_illuminance\d*)_(raw|input)")
SHARED: Final = "in_illuminance"


def find_light_sensors(tree: KernelTree) -> Listing:
    """The places of all sensors that tell lux."""
    return find_sensors(tree, CHANNEL)


def read_light_sensor(tree: KernelTree, place: str) -> LightSensor:
    """One light sensor."""
    folder = sensor_folder(tree, place)
    name = read_text(tree, f"{folder}/name")
    channel = first_channel(tree, folder, CHANNEL)
    light = convert(read_value(tree, folder, channel, SHARED), as_thousandths)
    return LightSensor(
        place=place,
        label=show_sensor(name, folder),
        position=read_position(tree, folder),
        sensor=name,
        seat=read_seat(tree, folder),
        illuminance_millilux=light,
        doubts=collect_doubts(light, doubt_light),
    )


READERS: Final = (Reader(kind="light_sensor", find=find_light_sensors, read=read_light_sensor),)
