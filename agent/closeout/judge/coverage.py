"""Devices that the bus shows and no driver serves: uncovered, which is not the same as missing."""

from collections.abc import Iterator, Mapping
from typing import Final

from closeout.model.buses import PciDevice, UsbDevice
from closeout.model.device import Device
from closeout.model.inventory import Inventory
from closeout.model.reading import Absent, Value

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
    """The bus devices without a driver that would be devices of `kind` if they had one."""
    return (*_unserved_pci(inventory, kind), *_unserved_usb(inventory, kind))


def _unserved_pci(inventory: Inventory, kind: str) -> Iterator[Device]:
    starts = PCI_CLASSES.get(kind, ())
    for device in inventory.section("pci_device").devices:
        if not isinstance(device, PciDevice) or not isinstance(device.driver, Absent):
            continue
        code = device.class_code
        if starts and isinstance(code, Value) and code.value.startswith(starts):
            yield device


def _unserved_usb(inventory: Inventory, kind: str) -> Iterator[Device]:
    starts = USB_CLASSES.get(kind, ())
    for device in inventory.section("usb_device").devices:
        if not isinstance(device, UsbDevice):
            continue
        drivers, classes = device.drivers, device.interface_classes
        has_none = isinstance(drivers, Absent) or (isinstance(drivers, Value) and not drivers.value)
        if not (starts and has_none and isinstance(classes, Value)):
            continue
        if any(triple.startswith(starts) for triple in classes.value):
            yield device
