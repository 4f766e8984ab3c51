"""Firmware that can be updated through UEFI, as its resource table (ESRT) lists it."""

from __future__ import annotations

from closeout.model.attribute import Shape, about
from closeout.model.device import Device
from closeout.model.frozen import field, frozen
from closeout.model.reading import Reading


@frozen
class FirmwareResource(Device):
    """One entry of the table. Versions are plain numbers whose form the maker alone knows."""

    firmware_class: Reading[str] = field(metadata=about("GUID that names this firmware"))
    firmware_type: Reading[str] = field(
        metadata=about("System Firmware, Device Firmware or UEFI Driver")
    )
    version: Reading[int] = field(
        metadata=about("version that is installed, as a number", Shape.INTEGER)
    )
    lowest_supported_version: Reading[int] = field(
        metadata=about("lowest version that may be installed", Shape.INTEGER)
    )
    last_attempt_version: Reading[int] = field(
        metadata=about("version that was last tried; 0 where none was", Shape.INTEGER)
    )
    last_attempt_status: Reading[str] = field(metadata=about("how the last update ended"))
