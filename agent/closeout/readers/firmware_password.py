"""Passwords that the firmware asks for: whether they are set.

Kernel paths: `sys/class/firmware-attributes/*/authentication/*`, of each `is_enabled`, `role` and
`mechanism` (Documentation/ABI/testing/sysfs-class-firmware-attributes), and
`sys/firmware/dmi/tables/DMI` (DMTF DSP0134 section 7.25). What takes or holds a password, a key or
a signature is never asked for.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

from closeout.decode.smbios_fields import Field
from closeout.decode.smbios_security import HardwareSecurityRecord, decode_hardware_security
from closeout.decode.smbios_words import ENABLED, NOT_IMPLEMENTED
from closeout.kernel.tree import KernelTree
from closeout.model.device import Position
from closeout.model.firmware_password import FirmwarePassword
from closeout.model.inventory import Listing
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Absent, Reading, Unreadable, Value, convert
from closeout.readers.attributes import list_class, list_folder, read_flag, read_text
from closeout.readers.places import label_of
from closeout.readers.reader import Reader
from closeout.readers.smbios_view import (
    Seen,
    missing_structure,
    read_smbios,
    structure_at,
    tell,
)

CLASS: Final = "sys/class/firmware-attributes"
AUTHENTICATION: Final = "authentication"
SECURITY_TYPE: Final = 24
SECURITY: Final = "dmi:hardware_security"
ROLES: Final[Mapping[str, Callable[[HardwareSecurityRecord], Field[str]]]] = {
    "power-on": lambda security: security.power_on,
    "keyboard": lambda security: security.keyboard,
    "administrator": lambda security: security.administrator,
}
PASSWORD: Final = "password"  # noqa: S105 - a kind of protection, no secret
TABLE_PLACE: Final = late_pattern(rf"{SECURITY}\.([0-9]+)\.([a-z-]+)")


def find_firmware_passwords(tree: KernelTree) -> Listing:
    """Those that a driver of the class shows, then those that the firmware's table tells of.

    What one of the two cannot tell leaves open what there is, unless the other tells of any.
    """
    of_class, of_table = _list_class(tree), _list_table(read_smbios(tree))
    told = [listing for listing in (of_class, of_table) if isinstance(listing, Value)]
    places = tuple(place for listing in told for place in listing.value)
    sources = (*of_class.sources, *of_table.sources)
    if not places and isinstance(of_table, Absent | Unreadable):
        return of_table
    if not places and isinstance(of_class, Absent | Unreadable):
        return of_class
    return Value(value=places, sources=sources)


def read_firmware_password(tree: KernelTree, place: str) -> FirmwarePassword:
    """One password, out of the table or of the class."""
    stated = TABLE_PLACE.fullmatch(place)
    if stated is None or stated[2] not in ROLES:
        return _read_of_class(tree, place)
    return _read_of_table(tree, place, int(stated[1]), stated[2])


def _list_class(tree: KernelTree) -> Listing:
    drivers = list_class(tree, CLASS)
    if not isinstance(drivers, Value):
        return drivers
    places: list[str] = []
    sources = list(drivers.sources)
    for driver in drivers.value:
        folder = f"{CLASS}/{driver}/{AUTHENTICATION}"
        listing = list_folder(tree, folder)
        if isinstance(listing, Unreadable):
            return listing
        sources.extend(listing.sources)
        if isinstance(listing, Value):
            places.extend(f"{folder}/{name}" for name in listing.value)
    return Value(value=tuple(places), sources=tuple(sources))


def _list_table(seen: Seen) -> Listing:
    """A place for each password of each structure that the firmware has at all."""
    if not isinstance(seen, Value):
        return seen
    count = len(seen.value.table.of_type(SECURITY_TYPE))
    if not count and seen.value.table.broken_at is not None:
        return missing_structure(seen.value, SECURITY_TYPE)
    places = tuple(
        f"{SECURITY}.{index}.{role}"
        for index in range(count)
        for role in ROLES
        if not _is_lacking(_status(seen, index, role))
    )
    return Value(value=places, sources=seen.sources)


def _is_lacking(status: Reading[str]) -> bool:
    return isinstance(status, Value) and status.value == NOT_IMPLEMENTED


def _status(seen: Seen, index: int, role: str) -> Reading[str]:
    record = convert(structure_at(seen, SECURITY_TYPE, index), decode_hardware_security)
    return tell(record, ROLES[role])


def _read_of_table(tree: KernelTree, place: str, index: int, role: str) -> FirmwarePassword:
    status = _status(read_smbios(tree), index, role)
    return FirmwarePassword(
        place=place,
        label=f"{role} {PASSWORD}",
        position=Position.INTERNAL,
        role=Value(value=role, sources=status.sources),
        enabled=convert(status, lambda word: word == ENABLED),
        mechanism=Value(value=PASSWORD, sources=status.sources),
    )


def _read_of_class(tree: KernelTree, place: str) -> FirmwarePassword:
    return FirmwarePassword(
        place=place,
        label=label_of(place),
        position=Position.INTERNAL,
        role=read_text(tree, f"{place}/role"),
        enabled=read_flag(tree, f"{place}/is_enabled"),
        mechanism=read_text(tree, f"{place}/mechanism"),
    )


READERS: Final = (
    Reader(kind="firmware_password", find=find_firmware_passwords, read=read_firmware_password),
)
