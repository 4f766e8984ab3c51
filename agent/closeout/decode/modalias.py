"""The ids in a `modalias`, by which the kernel finds a driver.

Forms: `acpi:HID:CID:` (drivers/acpi/device_sysfs.c), `i2c:NAME`, `spi:NAME`, `platform:NAME`, and
`sdio:cCCvVVVVdDDDD` (include/linux/mod_devicetable.h, scripts/mod/file2alias.c).
"""

from __future__ import annotations

from typing import Final

from closeout.model.late_pattern import late_pattern

SDIO: Final = late_pattern(r"c[0-9A-F]{2}v([0-9A-F]{4})d([0-9A-F]{4})")


def parse_modalias(text: str) -> tuple[str, ...]:
    """The ids, the closest first; empty where there is none. Total: any text gives an answer."""
    bus, mark, rest = text.strip().partition(":")
    if not mark:
        return ()
    if bus == "sdio":
        found = SDIO.fullmatch(rest)
        return (f"{found[1]}:{found[2]}".lower(),) if found else ()
    return tuple(part for part in rest.split(":") if part)
