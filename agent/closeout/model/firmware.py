"""State of the firmware: how it booted, Secure Boot, and the licence table (ACPI MSDM)."""

from __future__ import annotations

from closeout.model.attribute import Shape, about
from closeout.model.device import Device
from closeout.model.frozen import field, frozen
from closeout.model.reading import Reading


@frozen
class FirmwareState(Device):
    """How the running kernel was started."""

    boot_mode: Reading[str] = field(metadata=about("how the unit was started: uefi or legacy"))
    secure_boot: Reading[bool] = field(metadata=about("Secure Boot is enforced", Shape.FLAG))
    setup_mode: Reading[bool] = field(
        metadata=about("the firmware is in setup mode: no platform key is enrolled", Shape.FLAG)
    )


@frozen
class LicenceTable(Device):
    """The licence key table; the key itself never gets past the recorder."""

    present: Reading[bool] = field(metadata=about("the table is there", Shape.FLAG))
    well_formed: Reading[bool] = field(
        metadata=about("lengths, type and version are as the layout wants them", Shape.FLAG)
    )
    checksum_good: Reading[bool] = field(metadata=about("the table's sum is zero", Shape.FLAG))
    key_format: Reading[str] = field(
        metadata=about("well-formed, or what is wrong with the key's form")
    )
    key_token: Reading[str] = field(
        metadata=about("last five characters, or the depot's token", personal=True)
    )
