"""The angle of a hinge, as convertibles measure it between keyboard and screen.

Kernel path: `sys/bus/iio/devices/iio:deviceN/in_anglN_*` in radians, of a sensor that labels the
angles apart `in_anglN_label` (Documentation/ABI/testing/sysfs-bus-iio; the first of a HID hinge
sensor is the hinge, drivers/iio/position/hid-sensor-custom-intel-hinge.c).
"""

from __future__ import annotations

from typing import Final

from closeout.decode.fixed_point import as_thousandths, degrees_of
from closeout.kernel.tree import KernelTree
from closeout.model.inventory import Listing
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Reading, convert
from closeout.model.sensor import HingeAngle
from closeout.readers.attributes import read_text
from closeout.readers.first_told import first_told
from closeout.readers.iio_channel import (
    find_sensors,
    first_channel,
    read_seat,
    read_value,
    sensor_folder,
    show_sensor,
)
from closeout.readers.places import read_position
from closeout.readers.reader import Reader

CHANNEL: Final = late_pattern(r"(in_angl\d*)_(raw|input)")
SHARED: Final = "in_angl"


def find_hinge_angles(tree: KernelTree) -> Listing:
    """The places of all sensors that tell an angle."""
    return find_sensors(tree, CHANNEL)


def read_hinge_angle(tree: KernelTree, place: str) -> HingeAngle:
    """The first angle of a sensor."""
    folder = sensor_folder(tree, place)
    name = read_text(tree, f"{folder}/name")
    channel = first_channel(tree, folder, CHANNEL)
    angle = convert(read_value(tree, folder, channel, SHARED), degrees_of)
    return HingeAngle(
        place=place,
        label=show_sensor(name, folder),
        position=read_position(tree, folder),
        sensor=name,
        seat=_read_meaning(tree, folder, channel),
        angle_millidegrees=convert(angle, as_thousandths),
    )


def _read_meaning(tree: KernelTree, folder: str, channel: str) -> Reading[str]:
    """What the angle is between: the channel's label, else the sensor's seat."""
    own = f"{folder}/{channel}_label"
    return first_told(
        (lambda: read_text(tree, own), lambda: read_seat(tree, folder)), "the angle has no label"
    )


READERS: Final = (Reader(kind="hinge_angle", find=find_hinge_angles, read=read_hinge_angle),)
