"""Which devices of a section a demand is about."""

from __future__ import annotations

from typing import Final

from closeout.judge.comparison import is_same, parts_of
from closeout.model.attribute import attributes_of
from closeout.model.device import Device, Position
from closeout.model.expectation import Condition, Expectation
from closeout.model.frozen import frozen
from closeout.model.input import InputDevice
from closeout.model.inventory import Section
from closeout.model.reading import Blank, Filler, Reading, Unreadable, Value

OCCUPANCY: Final = ("present", "fitted", "connected")
"""Attributes that say whether anything sits in the bay, socket or connector at all."""


@frozen
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

    A device that went away after it was listed, or tells nothing, may be none: it is unknown. So is
    one that may be outside: what tells where it sits could not be read, or it is a keyboard or a
    pointer, which are plugged in every day, at a port that does not tell.
    """
    judged = [(device, _meets(device, expectation)) for device in section.devices]
    return Selection(
        meeting=tuple(device for device, meets in judged if meets is True),
        unknown=tuple(device for device, meets in judged if meets is None),
    )


def _meets(device: Device, expectation: Expectation) -> bool | None:
    """True or False where it was read, None where it could not be."""
    conditions = (_holds(device, condition) for condition in expectation.where)
    answers = [is_there(device, external_counts=expectation.external_counts), *conditions]
    if False in answers:
        return False
    return None if None in answers else True


def is_there(device: Device, *, external_counts: bool) -> bool | None:
    """Whether a device takes part in demands at all; None where it could not be read."""
    answers = (_occupied(device), _inside(device, external_counts=external_counts))
    if False in answers:
        return False
    return None if None in answers or not told_by(device) else True


def _inside(device: Device, *, external_counts: bool) -> bool | None:
    """None for a device that may be outside where outside does not count."""
    if external_counts:
        return True
    if device.position is Position.EXTERNAL:
        return False
    may_be_outside = {Position.UNREAD}
    if isinstance(device, InputDevice):
        may_be_outside.add(Position.UNKNOWN)
    return None if device.position in may_be_outside else True


def told_by(device: Device) -> tuple[str, ...]:
    """The attributes that a file of the device has told, and not its place alone."""
    return tuple(
        name
        for name, attribute in attributes_of(type(device)).items()
        if not attribute.by_place and isinstance(attribute_of(device, name), Value | Blank | Filler)
    )


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
