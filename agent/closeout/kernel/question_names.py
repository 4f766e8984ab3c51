"""How readers ask for what no file answers: questions to drives, and to other libraries.

Apart from `drives` and `opinions`, which answer them on a live machine: where evidence is judged,
nothing is asked of either.
"""

from __future__ import annotations

from typing import Final

NVME_HEALTH: Final = "nvme smart-log"
OPAL: Final = "opal status"
ATA_IDENTIFY: Final = "ata identify"
ATA_SMART: Final = "ata smart"
ATA_THRESHOLDS: Final = "ata smart-thresholds"
ATA_STATUS: Final = "ata smart-status"
"""These are followed by the kernel's name of the drive: `nvme smart-log nvme0`."""

BATTERY: Final = "psutil sensors_battery"
MEMORY: Final = "psutil virtual_memory"
INTERFACES: Final = "psutil net_if_addrs"
TEMPERATURES: Final = "psutil sensors_temperatures"
FANS: Final = "psutil sensors_fans"
DISKS: Final = "pyudev block"
PROCESSOR: Final = "cpuinfo get_processor_brand"
DISK_PROPERTIES: Final = ("ID_SERIAL_SHORT", "ID_MODEL")
"""What the answer to `DISKS` tells of each, beside its name."""
