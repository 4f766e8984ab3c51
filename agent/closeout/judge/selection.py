"""Which devices of a section a demand is about."""

from dataclasses import dataclass
from typing import Final

from closeout.judge.comparison import is_same, parts_of
from closeout.model.device import Device, Position
from closeout.model.expectation import Condition, Expectation
from closeout.model.input import InputDevice
from closeout.model.inventory import Section
from closeout.model.reading import Blank, Filler, Reading, Unreadable, Value

OCCUPANCY: Final = ("present", "fitted", "connected")
"""Attributes that say whether anything sits in the bay, socket or connector at all."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Selection:
    """The devices that meet the conditions, and those of which it could not be read."""

    meeting: tuple[Device, ...]
    unknown: tuple[Device, ...]


def attribute_of(device: Device, name: str) -> Reading[object]:
    """The reading of a device under its attribute name."""
    reading: Reading[object] = getattr(device, name)
    return reading


def select_devices(section: Section, expectation: Expectation) -> Selection:
    """Inside devices only, unless the demand counts external ones; empty bays take no part.

    Keyboards and pointers are plugged in every day: of one that may be outside it is unknown
    whether it is meant.
    """
    taking_part = [
        device
        for device in section.devices
        if expectation.external_counts or device.position is not Position.EXTERNAL
    ]
    judged = [(device, _meets(device, expectation)) for device in taking_part]
    return Selection(
        meeting=tuple(device for device, meets in judged if meets is True),
        unknown=tuple(device for device, meets in judged if meets is None),
    )


def _meets(device: Device, expectation: Expectation) -> bool | None:
    """True or False where it was read, None where it could not be."""
    answers = [_occupied(device), *(_holds(device, found) for found in expectation.where)]
    if not expectation.external_counts:
        answers.append(_is_surely_inside(device))
    if False in answers:
        return False
    return None if None in answers else True


def _is_surely_inside(device: Device) -> bool | None:
    """None for an input device whose port does not tell; other kinds count as inside then."""
    is_input = isinstance(device, InputDevice)
    return None if is_input and device.position is Position.UNKNOWN else True


def _occupied(device: Device) -> bool | None:
    """False for an empty bay; a device that says nothing of it is taken to be there."""
    for name in OCCUPANCY:
        reading: Reading[object] | None = getattr(device, name, None)
        if isinstance(reading, Unreadable):
            return None
        if isinstance(reading, Value) and reading.value is False:
            return False
    return True


def _holds(device: Device, condition: Condition) -> bool | None:
    reading = attribute_of(device, condition.attribute)
    match reading:
        case Value(value=value):
            return any(is_same(part, condition.value) for part in parts_of(value))
        case Blank() | Filler():
            return False
        case _:
            return None
