"""What a device shows: the values among its readings."""

from typing import TypeVar

from closeout.model.attribute import attributes_of
from closeout.model.device import Device
from closeout.model.reading import Reading, Value

T = TypeVar("T")


def value_of(reading: Reading[T]) -> T:
    """The value of a reading that has to have one."""
    assert isinstance(reading, Value), reading
    return reading.value


def values_of(device: Device) -> dict[str, object]:
    """The attributes of a device that have a value, by name."""
    readings: dict[str, Reading[object]] = {
        name: getattr(device, name) for name in attributes_of(type(device))
    }
    return {name: found.value for name, found in readings.items() if isinstance(found, Value)}
