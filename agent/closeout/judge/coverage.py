"""Devices that the bus shows and no driver serves: uncovered, which is not the same as missing."""

from collections.abc import Iterator, Mapping
from typing import Final

from closeout.model.buses import PciDevice, UsbDevice
from closeout.model.device import Device, Position
from closeout.model.inventory import Inventory
from closeout.model.reading import Absent, Reading, Value

PCI_CLASSES: Final[Mapping[str, tuple[str, ...]]] = {
    "wifi": ("0280",),
    "drive": ("0101", "0104", "0106", "0107", "0108"),
    "display": ("03",),
    "backlight": ("03",),
    "sound_card": ("0401", "0403"),
    "camera": ("0400", "0480"),
}
"""Kind to the starts of the PCI class codes (PCI Code and ID Assignment Specification) whose
driver makes such devices."""

USB_CLASSES: Final[Mapping[str, tuple[str, ...]]] = {
    "bluetooth": ("e0/01/01",),
    "drive": ("08/",),
    "camera": ("0e/",),
    "sound_card": ("01/",),
}
"""Kind to the starts of USB interface class/subclass/protocol (USB-IF defined class codes)."""


GRAPHICS: Final = "03"


def find_unserved(inventory: Inventory, kind: str) -> tuple[Device, ...]:
    """The bus devices without a driver that would be devices of `kind` if they had one."""
    pci, usb = PCI_CLASSES.get(kind, ()), USB_CLASSES.get(kind, ())
    return (*_unserved_pci(inventory, pci), *_unserved_usb(inventory, usb))


def _unserved_pci(inventory: Inventory, starts: tuple[str, ...]) -> Iterator[Device]:
    for device in inventory.section("pci_device").devices:
        if (
            isinstance(device, PciDevice)
            and isinstance(device.driver, Absent)
            and is_candidate(inventory, device, starts)
        ):
            yield device


def _unserved_usb(inventory: Inventory, starts: tuple[str, ...]) -> Iterator[Device]:
    for device in inventory.section("usb_device").devices:
        if (
            isinstance(device, UsbDevice)
            and device.position is not Position.EXTERNAL
            and _is_nothing(device.drivers)
            and isinstance(device.interface_classes, Value)
            and any(triple.startswith(starts) for triple in device.interface_classes.value)
        ):
            yield device


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


def _is_nothing(drivers: Reading[tuple[str, ...]]) -> bool:
    return isinstance(drivers, Absent) or (isinstance(drivers, Value) and not drivers.value)
