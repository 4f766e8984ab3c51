"""Devices that the bus shows and no driver serves: uncovered, which is not the same as missing."""

from collections.abc import Iterator, Mapping
from typing import Final

from closeout.model.buses import PciDevice, UsbDevice
from closeout.model.device import Device
from closeout.model.inventory import Inventory
from closeout.model.reading import Absent, Reading, Value
from closeout.model.tpm import Tpm

PCI_CLASSES: Final[Mapping[str, tuple[str, ...]]] = {
    "wifi": ("0280",),
    "drive": ("0101", "0104", "0106", "0107", "0108"),
    "display": ("03",),
    "backlight": ("03",),
}
"""Kind to the starts of the PCI class codes (PCI Code and ID Assignment Specification) whose
driver makes such devices."""

USB_CLASSES: Final[Mapping[str, tuple[str, ...]]] = {
    "bluetooth": ("e0/01/01",),
    "drive": ("08/",),
}
"""Kind to the starts of USB interface class/subclass/protocol (USB-IF defined class codes)."""


def find_unserved(inventory: Inventory, kind: str) -> tuple[Device, ...]:
    """The devices without a driver that would be devices of `kind` if they had one."""
    if kind == "tpm":
        return tuple(_announced_tpms(inventory))
    pci, usb = PCI_CLASSES.get(kind, ()), USB_CLASSES.get(kind, ())
    return (*_unserved_pci(inventory, pci), *_unserved_usb(inventory, usb))


def _unserved_pci(inventory: Inventory, starts: tuple[str, ...]) -> Iterator[Device]:
    for device in inventory.section("pci_device").devices:
        if (
            isinstance(device, PciDevice)
            and isinstance(device.driver, Absent)
            and isinstance(device.class_code, Value)
            and device.class_code.value.startswith(starts)
        ):
            yield device


def _unserved_usb(inventory: Inventory, starts: tuple[str, ...]) -> Iterator[Device]:
    for device in inventory.section("usb_device").devices:
        if (
            isinstance(device, UsbDevice)
            and _is_nothing(device.drivers)
            and isinstance(device.interface_classes, Value)
            and any(triple.startswith(starts) for triple in device.interface_classes.value)
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


def _is(reading: Reading[bool], *, wanted: bool) -> bool:
    return isinstance(reading, Value) and reading.value is wanted


def _is_nothing(drivers: Reading[tuple[str, ...]]) -> bool:
    return isinstance(drivers, Absent) or (isinstance(drivers, Value) and not drivers.value)
