"""Devices that the profile knows to be built in, whatever their name or bus suggests."""

from collections.abc import Iterable

from closeout.model.built_in import BuiltIn
from closeout.model.device import Device, Position
from closeout.model.display import Display
from closeout.model.frozen import replace
from closeout.model.inventory import Inventory
from closeout.model.reading import Value


def place_built_in(inventory: Inventory, built_in: BuiltIn) -> Inventory:
    """The inventory with the devices that the profile names inside the unit."""
    if not built_in.connectors:
        return inventory
    sections = tuple(
        replace(section, devices=tuple(_placed(section.devices, built_in)))
        for section in inventory.sections
    )
    return Inventory(sections=sections)


def _placed(devices: Iterable[Device], built_in: BuiltIn) -> Iterable[Device]:
    for device in devices:
        is_built_in = (
            isinstance(device, Display)
            and isinstance(device.connector, Value)
            and device.connector.value in built_in.connectors
        )
        yield replace(device, position=Position.INTERNAL) if is_built_in else device
