"""Temperatures of monitoring chips and of thermal zones, each sensor once.

Kernel path: `sys/class/hwmon/hwmonN/tempM_*` in thousandths of a degree Celsius
(Documentation/hwmon/sysfs-interface.rst). Zones: `closeout.readers.thermal_zone`.
"""

from __future__ import annotations

from typing import Final

from closeout.decode.sensor_dummies import Quantity
from closeout.kernel.tree import KernelTree
from closeout.model.inventory import Listing
from closeout.model.reading import Value
from closeout.model.thermal import Temperature
from closeout.readers.attributes import read_text
from closeout.readers.measurement import (
    doubt_heat,
    read_any_flag,
    read_limit,
    read_measurement,
)
from closeout.readers.monitoring_chip import (
    CHIP,
    channel_at,
    find_channels,
    owner_of,
    read_owner,
    read_sensor_name,
)
from closeout.readers.numbered_folder import folder_at
from closeout.readers.places import read_position
from closeout.readers.reader import Reader
from closeout.readers.thermal_zone import find_zones, is_zone, read_zone

ALARMS: Final = ("alarm", "max_alarm", "crit_alarm", "emergency_alarm")


def find_temperatures(tree: KernelTree) -> Listing:
    """The places of all channels of chips, then of all zones."""
    channels = find_channels(tree, "temp")
    if not isinstance(channels, Value):
        return channels
    zones = find_zones(tree)
    if not isinstance(zones, Value):
        return zones
    return Value(value=channels.value + zones.value, sources=channels.sources + zones.sources)


def read_temperature(tree: KernelTree, place: str) -> Temperature:
    """One channel or zone."""
    return read_zone(tree, place) if is_zone(place) else read_channel(tree, place)


def read_channel(tree: KernelTree, place: str) -> Temperature:
    """One channel of a chip."""
    chip_folder = folder_at(tree, place.rpartition("/")[0], CHIP)
    channel = channel_at(tree, place)
    now = read_measurement(tree, channel.path("input"), Quantity.TEMPERATURE)
    critical = read_limit(tree, channel.path("crit"), Quantity.TEMPERATURE)
    chip = read_text(tree, f"{channel.folder}/{CHIP.name_file}")
    return Temperature(
        place=place,
        label=f"{chip.value if isinstance(chip, Value) else 'chip'} {channel.name}",
        position=read_position(tree, owner_of(tree, chip_folder)),
        chip=chip,
        channel=Value(value=channel.name, sources=(channel.path("input"),)),
        sensor=read_sensor_name(tree, channel),
        belongs_to=read_owner(tree, chip_folder),
        now_millicelsius=now,
        max_millicelsius=read_limit(tree, channel.path("max"), Quantity.TEMPERATURE),
        critical_millicelsius=critical,
        alarm=read_any_flag(tree, map(channel.path, ALARMS), "the chip reports no alarms"),
        fault=read_any_flag(tree, [channel.path("fault")], "the chip reports no faults"),
        doubts=doubt_heat(now, critical, Quantity.TEMPERATURE),
    )


READERS: Final = (Reader(kind="temperature", find=find_temperatures, read=read_temperature),)
