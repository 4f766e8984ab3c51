"""Chips of hardware monitoring, and their channels of one sort.

Kernel path: `sys/class/hwmon/hwmonN` (Documentation/hwmon/sysfs-interface.rst). Drivers of the
old sort have their files one folder up, in `device`. Two sorts of chips are copies: a thermal
zone makes one (drivers/thermal/thermal_hwmon.c), and so does each power supply
(drivers/power/supply/power_supply_hwmon.c); what they show is told where it comes from.
"""

from __future__ import annotations

import re
from typing import Final

from closeout.kernel.tree import KernelTree
from closeout.model.frozen import frozen
from closeout.model.inventory import Listing
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Absent, Reading, Value
from closeout.readers.attributes import list_class, list_folder, read_link_name, read_text
from closeout.readers.numbered_folder import Numbered, folder_at, lasting_place, list_numbered
from closeout.readers.places import locate

CLASS: Final = "sys/class/hwmon"
CHIP: Final = Numbered(form=late_pattern(r"hwmon\d+"), name_file="name")
COPY: Final = late_pattern(r"/(thermal/thermal_zone\d+|power_supply/[^/]+)/(hwmon/)?hwmon\d+$")


@frozen
class Channel:
    """One channel, `temp1` or `fan2`, of the chip whose files are in a folder now."""

    folder: str
    name: str

    def path(self, what: str) -> str:
        """The file that tells something of it: `input`, `label`, `crit`."""
        return f"{self.folder}/{self.name}_{what}"


def find_channels(tree: KernelTree, sort: str) -> Listing:
    """The lasting places of all channels of a sort, `temp` or `fan`, that have a value.

    A chip that cannot be looked into makes the listing unreadable: it may have one.
    """
    listing = list_class(tree, CLASS)
    if not isinstance(listing, Value):
        return listing
    places: list[str] = []
    for name in list_numbered(listing, CHIP):
        chip = locate(tree, f"{CLASS}/{name}")
        if is_copy(chip):
            continue
        inside = list_folder(tree, files_of(tree, chip))
        if not isinstance(inside, Value):
            return inside
        place = lasting_place(tree, chip, CHIP)
        places += [f"{place}/{channel}" for channel in channels_in(inside.value, sort)]
    return Value(value=tuple(places), sources=listing.sources)


def is_copy(chip: str) -> bool:
    """A chip that repeats what a thermal zone or a power supply tells."""
    return COPY.search(f"/{chip}") is not None


def channels_in(names: tuple[str, ...], sort: str) -> tuple[str, ...]:
    """The channels of a sort among the files of a chip, by their numbers."""
    form = re.compile(rf"({sort}\d+)_input")
    channels = [found[1] for name in names if (found := form.fullmatch(name))]
    return tuple(sorted(channels, key=lambda channel: (len(channel), channel)))


def channel_at(tree: KernelTree, place: str) -> Channel:
    """The channel at a place that `find_channels` gave."""
    chip, _, name = place.rpartition("/")
    return Channel(folder=files_of(tree, folder_at(tree, chip, CHIP)), name=name)


def files_of(tree: KernelTree, chip: str) -> str:
    """The folder with the files of a chip: its own, of the old sort its device's."""
    if isinstance(read_text(tree, f"{chip}/{CHIP.name_file}"), Absent):
        device = f"{chip}/device"
        if isinstance(read_text(tree, f"{device}/{CHIP.name_file}"), Value):
            return device
    return chip


def read_sensor_name(tree: KernelTree, channel: Channel) -> Reading[str]:
    """What the driver calls the sensor: its label, else the channel's own name."""
    label = read_text(tree, channel.path("label"))
    return Value(value=channel.name, sources=label.sources) if isinstance(label, Absent) else label


def read_owner(tree: KernelTree, chip: str) -> Reading[str]:
    """The kernel's name of the device that a chip belongs to."""
    owner = read_link_name(tree, f"{chip}/device")
    if isinstance(owner, Absent):
        return Absent(reason="no device is behind it", sources=owner.sources)
    return owner


def owner_of(tree: KernelTree, chip: str) -> str:
    """The place of the device that a chip belongs to; the chip's own where it names none."""
    link = f"{chip}/device"
    owner = locate(tree, link)
    return chip if owner == link else owner
