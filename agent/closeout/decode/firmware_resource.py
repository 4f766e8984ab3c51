"""Words for the numbers in the firmware's resource table (ESRT).

UEFI specification 2.10, section 23.4 (EFI_SYSTEM_RESOURCE_ENTRY). The kernel hands the numbers on
as they are; its Documentation/ABI/testing/sysfs-firmware-efi-esrt leaves status 1 (Unsuccessful)
out, so that its words behind it are one number early.
"""

from __future__ import annotations

from typing import Final

from closeout.decode.smbios_fields import Field, Lack, Missing

TYPES: Final = {1: "System Firmware", 2: "Device Firmware", 3: "UEFI Driver"}
STATUSES: Final = {
    0: "Success",
    1: "Unsuccessful",
    2: "Insufficient Resources",
    3: "Incorrect Version",
    4: "Invalid Format",
    5: "Authentication Error",
    6: "AC Not Connected",
    7: "Insufficient Battery",
    8: "Unsatisfied Dependencies",
}
OF_THE_MAKER: Final = range(0x1000, 0x4001)
"""Statuses that the firmware's maker gives a meaning to."""


def resource_type(number: int) -> Field[str]:
    """What kind of firmware the entry is of."""
    if number == 0:
        return Missing(lack=Lack.UNKNOWN, reason="0 means unknown")
    return TYPES.get(number, _undefined(number))


def attempt_status(number: int) -> Field[str]:
    """How the last update ended."""
    if number in OF_THE_MAKER:
        return f"maker's own error {number:#x}"
    return STATUSES.get(number, _undefined(number))


def _undefined(number: int) -> Missing:
    return Missing(lack=Lack.UNDEFINED, reason=f"{number} is not defined")
