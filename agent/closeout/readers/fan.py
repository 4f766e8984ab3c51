"""Fans of monitoring chips and of the firmware, each fan once.

Kernel paths: `sys/class/hwmon/hwmonN/fanM_*` in revolutions a minute
(Documentation/hwmon/sysfs-interface.rst); fans among the cooling devices that no chip shows, with
the speed that the firmware tells. From Linux 6.11 on an ACPI fan has a chip as well.
"""

from __future__ import annotations

from typing import Final

from closeout.decode.sensor_doubts import doubt_speed
from closeout.decode.sensor_dummies import Quantity
from closeout.kernel.tree import KernelTree
from closeout.model.inventory import Listing
from closeout.model.reading import Absent, Value
from closeout.model.thermal import Fan
from closeout.readers.attributes import read_text
from closeout.readers.cooling_device import FIRMWARE_SPEED, find_cooling_fans, read_steps
from closeout.readers.measurement import (
    collect_doubts,
    read_any_flag,
    read_limit,
    read_measurement,
)
from closeout.readers.monitoring_chip import (
    CHIP,
    channel_at,
    channels_in,
    find_channels,
    owner_of,
    read_owner,
    read_sensor_name,
)
from closeout.readers.numbered_folder import folder_at
from closeout.readers.places import label_of, read_position
from closeout.readers.reader import Reader

SORT: Final = "fan"
FIRMWARE: Final = "firmware"
ALARMS: Final = ("alarm", "min_alarm", "max_alarm")


def find_fans(tree: KernelTree) -> Listing:
    """The places of all channels of chips, then of the fans that no chip shows."""
    channels = find_channels(tree, SORT)
    if not isinstance(channels, Value):
        return channels
    cooling = find_cooling_fans(tree)
    if not isinstance(cooling, Value):
        return cooling
    chips = {folder_at(tree, place.rpartition("/")[0], CHIP) for place in channels.value}
    shown = {owner_of(tree, chip) for chip in chips}
    others = tuple(owner for owner in cooling.value if owner not in shown)
    sources = channels.sources + cooling.sources
    return Value(value=channels.value + others, sources=sources)


def read_fan(tree: KernelTree, place: str) -> Fan:
    """One fan."""
    is_channel = bool(channels_in((f"{label_of(place)}_input",), SORT))
    return read_channel(tree, place) if is_channel else read_firmware_fan(tree, place)


def read_channel(tree: KernelTree, place: str) -> Fan:
    """One channel of a chip."""
    chip_folder = folder_at(tree, place.rpartition("/")[0], CHIP)
    channel = channel_at(tree, place)
    speed = read_measurement(tree, channel.path("input"), Quantity.SPEED)
    chip = read_text(tree, f"{channel.folder}/{CHIP.name_file}")
    owner = owner_of(tree, chip_folder)
    steps = read_steps(tree, owner)
    return Fan(
        place=place,
        label=f"{chip.value if isinstance(chip, Value) else 'chip'} {channel.name}",
        position=read_position(tree, owner),
        chip=chip,
        channel=Value(value=channel.name, sources=(channel.path("input"),)),
        sensor=read_sensor_name(tree, channel),
        belongs_to=read_owner(tree, chip_folder),
        speed_rpm=speed,
        target_rpm=read_limit(tree, channel.path("target"), Quantity.SPEED),
        min_rpm=read_limit(tree, channel.path("min"), Quantity.SPEED),
        max_rpm=read_limit(tree, channel.path("max"), Quantity.SPEED),
        alarm=read_any_flag(tree, map(channel.path, ALARMS), "the chip reports no alarms"),
        fault=read_any_flag(tree, [channel.path("fault")], "the chip reports no faults"),
        cooling_step=steps.now,
        most_cooling_steps=steps.most,
        doubts=collect_doubts(speed, doubt_speed),
    )


def read_firmware_fan(tree: KernelTree, place: str) -> Fan:
    """A fan that only the firmware shows; one without a speed is told all the same."""
    speed = read_measurement(tree, f"{place}/{FIRMWARE_SPEED}", Quantity.SPEED)
    steps = read_steps(tree, place)
    no_chip = Absent(reason="no monitoring chip shows this fan", sources=speed.sources)
    return Fan(
        place=place,
        label=label_of(place),
        position=read_position(tree, place),
        chip=Value(value=FIRMWARE, sources=speed.sources),
        channel=Value(value=SORT, sources=speed.sources),
        sensor=Value(value=label_of(place), sources=speed.sources),
        belongs_to=Value(value=label_of(place), sources=speed.sources),
        speed_rpm=speed,
        target_rpm=no_chip,
        min_rpm=no_chip,
        max_rpm=no_chip,
        alarm=no_chip,
        fault=no_chip,
        cooling_step=steps.now,
        most_cooling_steps=steps.most,
        doubts=collect_doubts(speed, doubt_speed),
    )


READERS: Final = (Reader(kind="fan", find=find_fans, read=read_fan),)
