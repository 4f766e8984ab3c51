"""Input devices that a bus shows without a driver, and those that their driver asked in vain."""

from __future__ import annotations

from collections.abc import Iterator

from closeout.model.device import Position
from closeout.model.input import InputBusDevice
from closeout.model.inventory import Inventory
from closeout.model.reading import Absent, Value


def find_unserved_inputs(inventory: Inventory, kind: str) -> tuple[InputBusDevice, ...]:
    """Those that no loaded driver is for; whether they would answer is not known."""
    return tuple(device for device in _unbound(inventory, kind) if not _is_silent(device))


def find_silent_inputs(inventory: Inventory, kind: str) -> tuple[InputBusDevice, ...]:
    """Those whose driver is loaded and got no answer: a part that is missing, or its ribbon."""
    return tuple(device for device in _unbound(inventory, kind) if _is_silent(device))


def _unbound(inventory: Inventory, kind: str) -> Iterator[InputBusDevice]:
    for device in inventory.section("input_bus_device").devices:
        if (
            isinstance(device, InputBusDevice)
            and device.position is not Position.EXTERNAL
            and isinstance(device.driver, Absent)
            and isinstance(device.purposes, Value)
            and kind in device.purposes.value
        ):
            yield device


def _is_silent(device: InputBusDevice) -> bool:
    return isinstance(device.silent, Value) and device.silent.value
