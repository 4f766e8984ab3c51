"""Sensors of the subsystem IIO and the values of their channels.

Kernel path: `sys/bus/iio/devices/iio:deviceN` (Documentation/ABI/testing/sysfs-bus-iio): a
processed value is in `_input`; a raw one becomes (raw + offset) x scale, where scale and offset
are the channel's own or shared by all of its sort. A scale beside a processed value is a range
of the chip and not applied.
"""

from __future__ import annotations

import re
from functools import partial
from typing import TYPE_CHECKING, Final

from closeout.decode.fixed_point import apply_scale, parse_decimal
from closeout.kernel.tree import KernelTree
from closeout.model.inventory import Listing
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Absent, Reading, Value
from closeout.readers.attributes import list_class, list_folder, read_text, understand
from closeout.readers.first_told import first_told
from closeout.readers.numbered_folder import Numbered, folder_at, lasting_place, list_numbered
from closeout.readers.places import label_of, locate

if TYPE_CHECKING:
    from fractions import Fraction

BUS: Final = "sys/bus/iio"
SENSOR: Final = Numbered(form=late_pattern(r"iio:device\d+"), name_file="name")
NOT_MEASURED: Final = "the sensor has no such channel"


def find_sensors(tree: KernelTree, channel: re.Pattern[str]) -> Listing:
    """The lasting places of the sensors with a file that the pattern names.

    A sensor that cannot be looked into makes the listing unreadable: it may be one.
    """
    bus = list_class(tree, BUS)
    if not (isinstance(bus, Value) and bus.value):
        return bus
    listing = list_folder(tree, f"{BUS}/devices")
    if not isinstance(listing, Value):
        return listing
    places: list[str] = []
    for name in list_numbered(listing, SENSOR):
        folder = locate(tree, f"{BUS}/devices/{name}")
        inside = list_folder(tree, folder)
        if not isinstance(inside, Value):
            return inside
        if any(map(channel.fullmatch, inside.value)):
            places.append(lasting_place(tree, folder, SENSOR))
    return Value(value=tuple(places), sources=listing.sources)


def sensor_folder(tree: KernelTree, place: str) -> str:
    """The folder of the sensor at a place that `find_sensors` gave."""
    return folder_at(tree, place, SENSOR)


def show_sensor(name: Reading[str], folder: str) -> str:
    """What people call a sensor: its driver's name, else the kernel's."""
    return name.value if isinstance(name, Value) else label_of(folder)


def read_seat(tree: KernelTree, folder: str) -> Reading[str]:
    """Where a sensor sits: its label, on older kernels its location."""
    ways = [partial(read_text, tree, f"{folder}/{name}") for name in ("label", "location")]
    return first_told(ways, "the sensor has no label")


def first_channel(tree: KernelTree, folder: str, form: re.Pattern[str]) -> str:
    """The first channel of a form, such as `in_illuminance0`; empty where there is none.

    The group of the form is the channel's name.
    """
    inside = list_folder(tree, folder)
    names = inside.value if isinstance(inside, Value) else ()
    found = sorted(match[1] for name in names if (match := form.fullmatch(name)))
    return found[0] if found else ""


def read_value(tree: KernelTree, folder: str, channel: str, shared: str = "") -> Reading[Fraction]:
    """The value of a channel in its unit; `shared` is what its sort has in common: `in_accel`."""
    if not channel:
        return Absent(reason=NOT_MEASURED, sources=(folder,))
    processed = read_decimal(tree, f"{folder}/{channel}_input")
    if not isinstance(processed, Absent):
        return processed
    raw = read_decimal(tree, f"{folder}/{channel}_raw")
    offset = _read_setting(tree, folder, (channel, shared), ("offset", 0))
    scale = _read_setting(tree, folder, (channel, shared), ("scale", 1))
    if not isinstance(raw, Value):
        return raw
    if not isinstance(offset, Value):
        return offset
    if not isinstance(scale, Value):
        return scale
    sources = raw.sources + offset.sources + scale.sources
    return Value(value=apply_scale(raw.value, offset.value, scale.value), sources=sources)


def read_decimal(tree: KernelTree, path: str) -> Reading[Fraction]:
    """A decimal number, exactly."""
    return understand(read_text(tree, path), "a decimal number", parse_decimal)


def _read_setting(
    tree: KernelTree, folder: str, owners: tuple[str, str], setting: tuple[str, int]
) -> Reading[Fraction]:
    """A scale or an offset, the channel's own first; where there is none, the neutral one."""
    what, neutral = setting
    paths = [f"{folder}/{owner}_{what}" for owner in owners if owner]
    told = first_told([partial(read_decimal, tree, path) for path in paths], f"no {what} is told")
    if not isinstance(told, Absent):
        return told
    from fractions import Fraction  # noqa: PLC0415 - of no use without such a sensor

    return Value(value=Fraction(neutral), sources=())
