"""Passwords that the firmware asks for: which are set, never what they are."""

from __future__ import annotations

from closeout.model.attribute import Shape, about
from closeout.model.device import Device
from closeout.model.frozen import field, frozen
from closeout.model.reading import Reading


@frozen
class FirmwarePassword(Device):
    """One password or certificate that the firmware can ask for."""

    role: Reading[str] = field(metadata=about("what it guards: bios-admin, power-on ..."))
    enabled: Reading[bool] = field(metadata=about("it is set", Shape.FLAG))
    mechanism: Reading[str] = field(metadata=about("password or certificate"))
