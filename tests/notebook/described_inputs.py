"""The records of a description that are about touchpads and touchscreens."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Touchpad:
    """A precision touchpad on the I2C bus."""

    ids: str
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TouchpadLine:
    """A touchpad that firmware names on an I2C bus whose controller has no driver."""

    hid: str
    """Its id in the ACPI tables: FE310230."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Touchscreen:
    """The touch sensor of the panel, on the I2C bus."""

    ids: str
    name: str
