"""The health log of an NVMe drive: log page 02h, SMART / Health Information.

Layout: NVM Express base specification 2.0, section 5.16.1.3, and `struct nvme_smart_log` of the
kernel (include/linux/nvme.h).
"""

from __future__ import annotations

from typing import Final

from closeout.decode.drive_block import number_at, require_block
from closeout.model.frozen import frozen

WHAT: Final = "NVMe health log"
WARNINGS: Final = (
    "spare blocks below their threshold",
    "temperature beyond a threshold",
    "reliability degraded",
    "medium is read-only",
    "backup of volatile memory failed",
    "persistent memory region unreliable",
)
"""Bits 0 to 5 of byte 0."""
MOST_PERCENT: Final = 100
SENSORS_AT: Final = 200
SENSORS: Final = 8


@frozen
class NvmeHealth:
    """Every field of the log; None where the standard says that the drive tells nothing.

    `percentage_used` may pass 100; 255 stands for that and more. A data unit is 512,000 bytes,
    rounded up. Temperatures are in kelvin, those of the sensors in their order.
    """

    critical_warnings: tuple[str, ...]
    temperature_kelvin: int | None
    available_spare_percent: int | None
    spare_threshold_percent: int | None
    percentage_used: int
    endurance_group_summary: int
    data_units_read: int | None
    data_units_written: int | None
    host_reads: int
    host_writes: int
    busy_minutes: int
    power_cycles: int
    power_on_hours: int
    unsafe_shutdowns: int
    media_errors: int
    error_entries: int
    warning_temperature_minutes: int
    critical_temperature_minutes: int
    sensors_kelvin: tuple[int | None, ...]
    throttle_counts: tuple[int, int]
    throttle_seconds: tuple[int, int]


def decode_nvme_smart(raw: bytes) -> NvmeHealth:
    """The health log.

    Raises:
        DecodeError: no 512 bytes, or all of them 00h or FFh.
    """
    require_block(WHAT, raw)
    return NvmeHealth(
        critical_warnings=warnings_of(raw[0]),
        temperature_kelvin=number_at(raw, 1, 2) or None,
        available_spare_percent=_percent(raw[3]),
        spare_threshold_percent=_percent(raw[4]),
        percentage_used=raw[5],
        endurance_group_summary=raw[6],
        data_units_read=number_at(raw, 32, 16) or None,
        data_units_written=number_at(raw, 48, 16) or None,
        host_reads=number_at(raw, 64, 16),
        host_writes=number_at(raw, 80, 16),
        busy_minutes=number_at(raw, 96, 16),
        power_cycles=number_at(raw, 112, 16),
        power_on_hours=number_at(raw, 128, 16),
        unsafe_shutdowns=number_at(raw, 144, 16),
        media_errors=number_at(raw, 160, 16),
        error_entries=number_at(raw, 176, 16),
        warning_temperature_minutes=number_at(raw, 192, 4),
        critical_temperature_minutes=number_at(raw, 196, 4),
        sensors_kelvin=tuple(
            number_at(raw, SENSORS_AT + 2 * index, 2) or None for index in range(SENSORS)
        ),
        throttle_counts=(number_at(raw, 216, 4), number_at(raw, 220, 4)),
        throttle_seconds=(number_at(raw, 224, 4), number_at(raw, 228, 4)),
    )


def warnings_of(bits: int) -> tuple[str, ...]:
    """The critical warnings in words; a bit without a meaning in the standard is one too."""
    named = dict(enumerate(WARNINGS))
    return tuple(
        named.get(bit, f"critical warning bit {bit}") for bit in range(8) if bits >> bit & 1
    )


def _percent(value: int) -> int | None:
    """0 to 100; the standard knows no more."""
    return value if value <= MOST_PERCENT else None
