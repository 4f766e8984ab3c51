"""Cooling devices, and which of them are fans.

Kernel path: `sys/class/thermal/cooling_deviceN` with `type`, `cur_state`, `max_state`
(Documentation/ABI/testing/sysfs-class-thermal). Of an ACPI fan `device` leads to its platform
device and `thermal_cooling` leads back (drivers/acpi/fan_core.c).
"""

from __future__ import annotations

from typing import Final

from closeout.kernel.tree import KernelTree
from closeout.model.frozen import frozen
from closeout.model.inventory import Listing
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Absent, Reading, Unreadable, Value
from closeout.readers.attributes import list_class, read_integer, read_text
from closeout.readers.monitoring_chip import owner_of
from closeout.readers.numbered_folder import Numbered, list_numbered
from closeout.readers.places import locate

CLASS: Final = "sys/class/thermal"
COOLING: Final = Numbered(form=late_pattern(r"cooling_device\d+"), name_file="type")
FAN: Final = "Fan"
FIRMWARE_SPEED: Final = "firmware_node/fan_speed_rpm"
"""The speed of an ACPI fan, beside its node (Documentation/admin-guide/acpi/
fan_performance_states.rst)."""


@frozen
class Steps:
    """How far a cooling device is turned up, and how far it can be."""

    now: Reading[int]
    most: Reading[int]


def find_cooling_fans(tree: KernelTree) -> Listing:
    """The devices behind all cooling devices that are fans, without their numbers.

    One that does not tell what it is makes the listing unreadable: it may be a fan.
    """
    listing = list_class(tree, CLASS)
    if not isinstance(listing, Value):
        return listing
    owners: list[str] = []
    for name in list_numbered(listing, COOLING):
        folder = locate(tree, f"{CLASS}/{name}")
        sort = read_text(tree, f"{folder}/{COOLING.name_file}")
        if isinstance(sort, Unreadable):
            return sort
        owner = owner_of(tree, folder)
        if (isinstance(sort, Value) and sort.value == FAN) or tells_speed(tree, owner):
            owners.append(owner)
    return Value(value=tuple(owners), sources=listing.sources)


def tells_speed(tree: KernelTree, owner: str) -> bool:
    """A device whose firmware node tells a fan's speed, readable or not."""
    return not isinstance(read_integer(tree, f"{owner}/{FIRMWARE_SPEED}"), Absent)


def read_steps(tree: KernelTree, owner: str) -> Steps:
    """The steps of the cooling device of a fan; of a bare cooling device, its own."""
    folder = (
        owner if COOLING.form.fullmatch(owner.rpartition("/")[2]) else f"{owner}/thermal_cooling"
    )
    return Steps(
        now=read_integer(tree, f"{folder}/cur_state"),
        most=read_integer(tree, f"{folder}/max_state"),
    )
