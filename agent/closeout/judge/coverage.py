"""Devices that the bus shows and no driver serves: uncovered, which is not the same as missing."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from closeout.model.buses import PciDevice, UsbDevice
from closeout.model.device import Device
from closeout.model.inventory import Inventory
from closeout.model.reading import Absent, Reading, Value


@dataclass(frozen=True, slots=True, kw_only=True)
class Coverage:
    """What a bus shows of a part whose driver would make a device of the kind.

    `pci` are starts of PCI class codes (PCI Code and ID Assignment Specification), `usb` starts
    of USB interface class/subclass/protocol (USB-IF defined class codes), `ids` whole ids by
    which firmware or a bus names a device: an ACPI or PNP id, a compatible id, `vendor:device`.
    """

    pci: tuple[str, ...] = ()
    usb: tuple[str, ...] = ()
    ids: tuple[str, ...] = ()


NOTHING: Final = Coverage()

COVERAGE: Final[Mapping[str, Coverage]] = {
    "drive": Coverage(pci=("0101", "0104", "0106", "0107", "0108"), usb=("08/",)),
    "display": Coverage(pci=("03",)),
    "backlight": Coverage(pci=("03",)),
    "wifi": Coverage(pci=("0280",)),
    "bluetooth": Coverage(usb=("e0/01/01",)),
}
"""One row a kind, in the order of `KINDS`; a kind that no bus shows without its driver has none."""


def find_unserved(inventory: Inventory, kind: str, ids: tuple[str, ...] = ()) -> tuple[Device, ...]:
    """The bus devices without a driver that would be devices of `kind` if they had one.

    `ids` are further ids of the part, by the profile.
    """
    row = COVERAGE.get(kind, NOTHING)
    row = Coverage(pci=row.pci, usb=row.usb, ids=(*row.ids, *ids))
    return (*_unserved_pci(inventory, row), *_unserved_usb(inventory, row))


def _unserved_pci(inventory: Inventory, row: Coverage) -> Iterator[Device]:
    for device in inventory.section("pci_device").devices:
        if (
            isinstance(device, PciDevice)
            and isinstance(device.driver, Absent)
            and (_starts(device.class_code, row.pci) or _is_one_of(device.ids, row.ids))
        ):
            yield device


def _unserved_usb(inventory: Inventory, row: Coverage) -> Iterator[Device]:
    for device in inventory.section("usb_device").devices:
        if (
            isinstance(device, UsbDevice)
            and _is_nothing(device.drivers)
            and (_one_starts(device.interface_classes, row.usb) or _is_one_of(device.ids, row.ids))
        ):
            yield device


def _starts(code: Reading[str], starts: tuple[str, ...]) -> bool:
    return isinstance(code, Value) and code.value.startswith(starts)


def _one_starts(triples: Reading[tuple[str, ...]], starts: tuple[str, ...]) -> bool:
    return isinstance(triples, Value) and any(triple.startswith(starts) for triple in triples.value)


def _is_one_of(found: Reading[str], ids: tuple[str, ...]) -> bool:
    return isinstance(found, Value) and found.value in ids


def _is_nothing(drivers: Reading[tuple[str, ...]]) -> bool:
    return isinstance(drivers, Absent) or (isinstance(drivers, Value) and not drivers.value)
