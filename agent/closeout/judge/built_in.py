"""Devices that the profile knows to be built in, whatever their name or bus suggests."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from closeout.model.built_in import BuiltIn
from closeout.model.buses import UsbDevice
from closeout.model.device import Device, Position
from closeout.model.display import Display
from closeout.model.frozen import replace
from closeout.model.inventory import Inventory
from closeout.model.reading import Value


def place_built_in(inventory: Inventory, built_in: BuiltIn) -> Inventory:
    """The inventory with the devices that the profile names inside the unit.

    Whatever sits behind a USB device that is named is inside with it.
    """
    if built_in == BuiltIn():
        return inventory
    usb_places = tuple(_named_usb(inventory, built_in))
    sections = tuple(
        replace(section, devices=tuple(_placed(section.devices, built_in, usb_places)))
        for section in inventory.sections
    )
    return Inventory(sections=sections)


def _named_usb(inventory: Inventory, built_in: BuiltIn) -> Iterator[str]:
    """The places of the USB devices that the profile names by port or ids."""
    for device in inventory.section("usb_device").devices:
        if isinstance(device, UsbDevice) and _is_named_usb(device, built_in):
            yield device.place


def _is_named_usb(device: UsbDevice, built_in: BuiltIn) -> bool:
    ids = device.ids.value if isinstance(device.ids, Value) else ""
    return device.label in built_in.usb_ports or ids in built_in.usb_ids


def _placed(
    devices: Iterable[Device], built_in: BuiltIn, usb_places: tuple[str, ...]
) -> Iterator[Device]:
    for device in devices:
        is_named = _is_named_connector(device, built_in)
        is_behind = any(f"{device.place}/".startswith(f"{place}/") for place in usb_places)
        yield replace(device, position=Position.INTERNAL) if is_named or is_behind else device


def _is_named_connector(device: Device, built_in: BuiltIn) -> bool:
    return (
        isinstance(device, Display)
        and isinstance(device.connector, Value)
        and device.connector.value in built_in.connectors
    )
