"""Passwords that the firmware asks for: which are set, never what they are."""

from dataclasses import dataclass, field

from closeout.model.attribute import Shape, about
from closeout.model.device import Device
from closeout.model.reading import Reading


@dataclass(frozen=True, slots=True, kw_only=True)
class FirmwarePassword(Device):
    """One password or certificate that the firmware can ask for."""

    role: Reading[str] = field(metadata=about("what it guards: bios-admin, power-on ..."))
    enabled: Reading[bool] = field(metadata=about("it is set", Shape.FLAG))
    mechanism: Reading[str] = field(metadata=about("password or certificate"))
