"""Which ACPI and PNP ids stand for a part of the unit, and which for how firmware is laid out.

Source: ACPI 6.5, table 5.167 (device ids) and the list of PNP ids that ACPI took over, from memory;
ids that begin with LNX are made by the kernel (drivers/acpi/, Documentation/ABI).
"""

from __future__ import annotations

from typing import Final

KERNEL_MADE: Final = "LNX"
NODE: Final = "device"
"""What the kernel calls a node without an id."""
LAYOUT: Final = frozenset(
    {
        "ACPI0004",  # module device
        "ACPI0007",  # processor
        "ACPI0010",  # processor container
        "ACPI0013",  # generic event device
        "PNP0000",  # interrupt controller
        "PNP0001",
        "PNP0003",  # interrupt controller of the processors
        "PNP0100",  # timer
        "PNP0103",  # high precision event timer
        "PNP0200",  # DMA controller
        "PNP0800",  # speaker of the old kind
        "PNP0A03",  # PCI bus
        "PNP0A05",  # generic container
        "PNP0A06",  # generic container
        "PNP0A08",  # PCI Express bus
        "PNP0C01",  # resources of the system board
        "PNP0C02",  # resources of the system board
        "PNP0C04",  # coprocessor
        "PNP0C08",  # ACPI itself
        "PNP0C0F",  # interrupt link
        "PNP0D80",  # power management of Windows-compatible systems
    }
)
"""The kernel takes these in itself, or nothing has to be done for them: no driver shows."""

USUALLY_DRIVEN: Final = frozenset(
    {
        "ACPI0003",  # mains adapter
        "ACPI0008",  # light sensor
        "ACPI0C50",  # input device on I2C, by an older draft
        "MSFT0101",  # TPM 2.0
        "PNP0303",  # keyboard of the old kind
        "PNP0B00",  # real-time clock
        "PNP0C09",  # embedded controller
        "PNP0C0A",  # battery
        "PNP0C0B",  # fan
        "PNP0C0C",  # power button
        "PNP0C0D",  # lid
        "PNP0C0E",  # sleep button
        "PNP0C50",  # input device on I2C
        "PNP0CA0",  # USB Type-C
        "USBC000",  # USB Type-C
    }
)
"""Ids of standards for which Linux has a driver on every notebook; ids of makers have one or not.
Common practice, no standard says so."""


def has_usual_driver(ids: tuple[str, ...]) -> bool:
    """The kernel normally has a driver for a device with one of these ids."""
    return not USUALLY_DRIVEN.isdisjoint(ids)


def stands_for_a_part(hardware_id: str) -> bool:
    """The id is that of a part which somebody might miss."""
    return (
        hardware_id != NODE
        and not hardware_id.startswith(KERNEL_MADE)
        and hardware_id not in LAYOUT
    )
