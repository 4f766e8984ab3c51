"""Thermal zones as temperatures.

Kernel path: `sys/class/thermal/thermal_zoneN` with `type`, `temp` and trip points, all in
thousandths of a degree Celsius (Documentation/ABI/testing/sysfs-class-thermal).
"""

from __future__ import annotations

from typing import Final

from closeout.decode.sensor_dummies import Quantity
from closeout.kernel.tree import KernelTree
from closeout.model.device import Position
from closeout.model.inventory import Listing
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Absent, Reading, Value
from closeout.model.thermal import Temperature
from closeout.readers.attributes import list_class, list_folder, read_text
from closeout.readers.measurement import doubt_heat, read_limit, read_measurement
from closeout.readers.monitoring_chip import owner_of, read_owner
from closeout.readers.numbered_folder import Numbered, folder_at, lasting_place, list_numbered
from closeout.readers.places import label_of, locate, read_position

CLASS: Final = "sys/class/thermal"
ZONE: Final = Numbered(form=late_pattern(r"thermal_zone\d+"), name_file="type")
ZONES: Final = late_pattern(r"(^|/)thermal/[^/]+$")
CHANNEL: Final = "zone"
FIRMWARE_ZONE: Final = "acpitz"
"""The type of every zone of the firmware (drivers/acpi/thermal.c)."""

TRIP: Final = late_pattern(r"(trip_point_\d+)_type")
CRITICAL, HOT = "critical", "hot"
NO_FLAG: Final = "a thermal zone has no such flag"


def find_zones(tree: KernelTree) -> Listing:
    """The lasting places of all zones."""
    listing = list_class(tree, CLASS)
    if not isinstance(listing, Value):
        return listing
    names = list_numbered(listing, ZONE)
    folders = (locate(tree, f"{CLASS}/{name}") for name in names)
    places = tuple(lasting_place(tree, folder, ZONE) for folder in folders)
    return Value(value=places, sources=listing.sources)


def is_zone(place: str) -> bool:
    """A place that `find_zones` gave."""
    return ZONES.search(place) is not None


def read_zone(tree: KernelTree, place: str) -> Temperature:
    """One zone; its limits are the trip points called hot and critical."""
    folder = folder_at(tree, place, ZONE)
    zone_type = read_text(tree, f"{folder}/{ZONE.name_file}")
    quantity = quantity_of(zone_type)
    now = read_measurement(tree, f"{folder}/temp", quantity)
    critical = _read_trip(tree, folder, CRITICAL, quantity)
    no_flag = Absent(reason=NO_FLAG, sources=(folder,))
    return Temperature(
        place=place,
        label=label_of(folder),
        position=_position(tree, folder),
        chip=zone_type,
        channel=Value(value=CHANNEL, sources=(folder,)),
        sensor=zone_type,
        belongs_to=read_owner(tree, folder),
        now_millicelsius=now,
        max_millicelsius=_read_trip(tree, folder, HOT, quantity),
        critical_millicelsius=critical,
        alarm=no_flag,
        fault=no_flag,
        doubts=doubt_heat(now, critical, quantity),
    )


def quantity_of(zone_type: Reading[str]) -> Quantity:
    """Which dummies a zone may show: firmware's own have some of theirs."""
    is_firmware = isinstance(zone_type, Value) and zone_type.value == FIRMWARE_ZONE
    return Quantity.FIRMWARE_TEMPERATURE if is_firmware else Quantity.TEMPERATURE


def _position(tree: KernelTree, folder: str) -> Position:
    """Where its device is; a zone without one is the unit's own as far as anybody knows."""
    owner = owner_of(tree, folder)
    return Position.UNKNOWN if owner == folder else read_position(tree, owner)


def _read_trip(tree: KernelTree, folder: str, wanted: str, quantity: Quantity) -> Reading[int]:
    """The temperature of the first trip point of a sort."""
    inside = list_folder(tree, folder)
    if not isinstance(inside, Value):
        return inside
    for name in inside.value:
        trip = TRIP.fullmatch(name)
        if trip is None:
            continue
        sort = read_text(tree, f"{folder}/{name}")
        if isinstance(sort, Value) and sort.value == wanted:
            return read_limit(tree, f"{folder}/{trip[1]}_temp", quantity)
    return Absent(reason=f"the zone has no {wanted} trip point", sources=inside.sources)
