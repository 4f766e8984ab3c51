"""Devices that the bus shows and no driver serves: uncovered, which is not the same as missing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

from closeout.judge.comparison import parts_of
from closeout.judge.input_coverage import find_unserved_inputs
from closeout.model.buses import BusDevice, PciDevice, UsbDevice
from closeout.model.device import Device, Position
from closeout.model.frozen import frozen
from closeout.model.inventory import Inventory
from closeout.model.reading import Absent, Reading, Value
from closeout.model.storage import StorageController
from closeout.model.tpm import Tpm


@frozen
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
NO_IDS: Final = Absent(reason="the device has no ids", sources=())
BUSES: Final = ("pci_device", "usb_device", "bus_device")

COVERAGE: Final[Mapping[str, Coverage]] = {
    "drive": Coverage(pci=("0101", "0104", "0106", "0107", "0108"), usb=("08/",)),
    "card_reader": Coverage(pci=("0805",)),
    "display": Coverage(pci=("03",)),
    "backlight": Coverage(pci=("03",)),
    "wifi": Coverage(pci=("0280",)),
    "bluetooth": Coverage(pci=("0d11",), usb=("e0/01/01",)),
    "wwan": Coverage(pci=("0d40", "0d41"), usb=("02/0e",)),
    "wired_network": Coverage(pci=("0200",), usb=("02/06", "02/0d")),
    "type_c_port": Coverage(ids=("PNP0CA0", "USBC000")),
    "usb_port": Coverage(pci=("0c03",)),
    "thunderbolt": Coverage(pci=("0c0340",)),
    "sound_card": Coverage(pci=("0401", "0403"), usb=("01/",)),
    "camera": Coverage(pci=("0400", "0480"), usb=("0e/",)),
    "usb_device": Coverage(pci=("0c03",)),
}
"""One row a kind, in the order of `KINDS`; a kind that no bus shows without its driver has none."""


HIDDEN_BY_MODE: Final = frozenset({"drive", "storage_controller"})
"""Kinds that are not seen in such a mode: an NVMe drive is a controller of its own."""
STORAGE_MODE_RULE: Final = "storage_controller.hides_drives"
"""Its advice is what to do where drives are hidden: no socket has anything to do with it."""

GRAPHICS: Final = "03"


def find_hiding(inventory: Inventory) -> tuple[Device, ...]:
    """The storage controllers whose mode hides the drives behind them."""
    return tuple(
        device
        for device in inventory.section("storage_controller").devices
        if isinstance(device, StorageController)
        and isinstance(device.hides_drives, Value)
        and device.hides_drives.value
    )


def find_unserved(inventory: Inventory, kind: str, ids: tuple[str, ...] = ()) -> tuple[Device, ...]:
    """The bus devices without a driver that would be devices of `kind` if they had one.

    `ids` are further ids of the part, by the profile.
    """
    if kind == "tpm":
        return tuple(_announced_tpms(inventory))
    row = COVERAGE.get(kind, NOTHING)
    row = Coverage(pci=row.pci, usb=row.usb, ids=(*row.ids, *ids))
    return (
        *_unserved_pci(inventory, row),
        *_unserved_usb(inventory, row),
        *_unserved_parts(inventory, row),
        *find_unserved_inputs(inventory, kind),
    )


def explain_missing(inventory: Inventory, ids: tuple[str, ...]) -> str:
    """What the buses say of a part that is missing, by the ids that the profile gives it.

    Empty where there are no ids, or where a bus that might have shown it could not be listed.
    """
    shown = [
        device.label
        for bus in BUSES
        for device in inventory.section(bus).devices
        if _has_one_of(getattr(device, "ids", NO_IDS), ids)
    ]
    if shown:
        return f"the bus shows {', '.join(shown)}, whose driver makes none of it"
    listed = all(isinstance(inventory.section(bus).listing, Value) for bus in BUSES)
    return f"no bus shows {' or '.join(ids)}" if ids and listed else ""


def _unserved_pci(inventory: Inventory, row: Coverage) -> Iterator[Device]:
    for device in inventory.section("pci_device").devices:
        if (
            isinstance(device, PciDevice)
            and isinstance(device.driver, Absent)
            and device.position is not Position.EXTERNAL
            and (is_candidate(inventory, device, row.pci) or _has_one_of(device.ids, row.ids))
        ):
            yield device


def _unserved_usb(inventory: Inventory, row: Coverage) -> Iterator[Device]:
    for device in inventory.section("usb_device").devices:
        if (
            isinstance(device, UsbDevice)
            and device.position is not Position.EXTERNAL
            and _is_nothing(device.drivers)
            and (_one_starts(device.interface_classes, row.usb) or _has_one_of(device.ids, row.ids))
        ):
            yield device


def _unserved_parts(inventory: Inventory, row: Coverage) -> Iterator[Device]:
    for device in inventory.section("bus_device").devices:
        if (
            isinstance(device, BusDevice)
            and isinstance(device.driver, Absent)
            and _has_one_of(device.ids, row.ids)
        ):
            yield device


def _announced_tpms(inventory: Inventory) -> Iterator[Device]:
    """TPMs that the firmware announces; one that has a driver would be among the devices."""
    for device in inventory.section("tpm").devices:
        if (
            isinstance(device, Tpm)
            and _is(device.present, wanted=False)
            and _is(device.announced, wanted=True)
        ):
            yield device


def _one_starts(triples: Reading[tuple[str, ...]], starts: tuple[str, ...]) -> bool:
    return isinstance(triples, Value) and any(triple.startswith(starts) for triple in triples.value)


def _has_one_of(found: Reading[str] | Reading[tuple[str, ...]], ids: tuple[str, ...]) -> bool:
    """One of the ids is there, in capitals or not."""
    wanted = {one.casefold() for one in ids}
    return isinstance(found, Value) and any(
        isinstance(part, str) and part.casefold() in wanted for part in parts_of(found.value)
    )


def is_candidate(inventory: Inventory, device: PciDevice, starts: tuple[str, ...]) -> bool:
    """Inside, of one of the classes, and not the sound of a graphics card."""
    return (
        device.position is not Position.EXTERNAL
        and isinstance(device.class_code, Value)
        and device.class_code.value.startswith(starts)
        and not _is_sound_of_graphics(inventory, device)
    )


def _is_sound_of_graphics(inventory: Inventory, device: PciDevice) -> bool:
    """Function 1 beside a display controller as function 0 plays through a screen's socket.

    So the kernel tells them too (get_bound_vga in sound/pci/hda/hda_intel.c).
    """
    slot, _, function = device.label.rpartition(".")
    return function == "1" and any(
        isinstance(other, PciDevice)
        and other.label == f"{slot}.0"
        and isinstance(other.class_code, Value)
        and other.class_code.value.startswith(GRAPHICS)
        for other in inventory.section("pci_device").devices
    )


def _is(reading: Reading[bool], *, wanted: bool) -> bool:
    return isinstance(reading, Value) and reading.value is wanted


def _is_nothing(drivers: Reading[tuple[str, ...]]) -> bool:
    return isinstance(drivers, Absent) or (isinstance(drivers, Value) and not drivers.value)
