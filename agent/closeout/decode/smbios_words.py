"""Words for the enumerations and bit fields of SMBIOS, by the tables of DMTF DSP0134.

Section numbers are those of version 3.7, from memory; the words are held against dmidecode.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final


def _from_one(*words: str) -> Mapping[int, str]:
    return dict(enumerate(words, start=1))


BIOS_CHARACTERISTICS: Final = {
    3: "BIOS characteristics not supported",
    4: "ISA is supported",
    5: "MCA is supported",
    6: "EISA is supported",
    7: "PCI is supported",
    8: "PC Card (PCMCIA) is supported",
    9: "PNP is supported",
    10: "APM is supported",
    11: "BIOS is upgradeable",
    12: "BIOS shadowing is allowed",
    13: "VLB is supported",
    14: "ESCD support is available",
    15: "Boot from CD is supported",
    16: "Selectable boot is supported",
    17: "BIOS ROM is socketed",
    18: "Boot from PC Card (PCMCIA) is supported",
    19: "EDD is supported",
    20: "Japanese floppy 1.2 MB, 1024 bytes a sector, is supported (int 13h)",
    21: "Japanese floppy 1.2 MB, 360 rpm, is supported (int 13h)",
    22: '5.25"/360 kB floppy services are supported (int 13h)',
    23: '5.25"/1.2 MB floppy services are supported (int 13h)',
    24: '3.5"/720 kB floppy services are supported (int 13h)',
    25: '3.5"/2.88 MB floppy services are supported (int 13h)',
    26: "Print screen service is supported (int 5h)",
    27: "8042 keyboard services are supported (int 9h)",
    28: "Serial services are supported (int 14h)",
    29: "Printer services are supported (int 17h)",
    30: "CGA/mono video services are supported (int 10h)",
    31: "PC-98 is supported",
}
"""7.1.1; bits 0 to 2 and 32 to 63 say nothing about the firmware."""

BIOS_EXTENSION_1: Final = {
    0: "ACPI is supported",
    1: "USB legacy is supported",
    2: "AGP is supported",
    3: "I2O boot is supported",
    4: "LS-120 boot is supported",
    5: "ATAPI Zip drive boot is supported",
    6: "IEEE 1394 boot is supported",
    7: "Smart battery is supported",
}
"""7.1.2.1."""

UEFI_BIT: Final = 3
BIOS_EXTENSION_2: Final = {
    0: "BIOS boot specification is supported",
    1: "Function key-initiated network boot is supported",
    2: "Targeted content distribution is supported",
    UEFI_BIT: "UEFI is supported",
    4: "System is a virtual machine",
    5: "Manufacturing mode is supported",
    6: "Manufacturing mode is enabled",
}
"""7.1.2.2."""

WAKE_UP: Final = {
    0: "Reserved",
    **_from_one(
        "Other",
        "Unknown",
        "APM Timer",
        "Modem Ring",
        "LAN Remote",
        "Power Switch",
        "PCI PME#",
        "AC Power Restored",
    ),
}
"""7.2.2."""

BOARD_FEATURES: Final = {
    0: "Board is a hosting board",
    1: "Board requires at least one daughter board",
    2: "Board is removable",
    3: "Board is replaceable",
    4: "Board is hot swappable",
}
"""7.3.1."""

BOARD_TYPE: Final = _from_one(
    "Unknown",
    "Other",
    "Server Blade",
    "Connectivity Switch",
    "System Management Module",
    "Processor Module",
    "I/O Module",
    "Memory Module",
    "Daughter Board",
    "Motherboard",
    "Processor+Memory Module",
    "Processor+I/O Module",
    "Interconnect Board",
)
"""7.3.2."""

CHASSIS_TYPE: Final = _from_one(
    "Other",
    "Unknown",
    "Desktop",
    "Low Profile Desktop",
    "Pizza Box",
    "Mini Tower",
    "Tower",
    "Portable",
    "Laptop",
    "Notebook",
    "Hand Held",
    "Docking Station",
    "All In One",
    "Sub Notebook",
    "Space-saving",
    "Lunch Box",
    "Main Server Chassis",
    "Expansion Chassis",
    "Sub Chassis",
    "Bus Expansion Chassis",
    "Peripheral Chassis",
    "RAID Chassis",
    "Rack Mount Chassis",
    "Sealed-case PC",
    "Multi-system",
    "CompactPCI",
    "AdvancedTCA",
    "Blade",
    "Blade Enclosing",
    "Tablet",
    "Convertible",
    "Detachable",
    "IoT Gateway",
    "Embedded PC",
    "Mini PC",
    "Stick PC",
)
"""7.4.1, without the lock bit."""

CHASSIS_STATE: Final = _from_one(
    "Other", "Unknown", "Safe", "Warning", "Critical", "Non-recoverable"
)
"""7.4.2."""

CHASSIS_SECURITY: Final = _from_one(
    "Other",
    "Unknown",
    "None",
    "External Interface Locked Out",
    "External Interface Enabled",
)
"""7.4.3."""

ARRAY_LOCATION: Final = {
    **_from_one(
        "Other",
        "Unknown",
        "System Board Or Motherboard",
        "ISA Add-on Card",
        "EISA Add-on Card",
        "PCI Add-on Card",
        "MCA Add-on Card",
        "PCMCIA Add-on Card",
        "Proprietary Add-on Card",
        "NuBus",
    ),
    0xA0: "PC-98/C20 Add-on Card",
    0xA1: "PC-98/C24 Add-on Card",
    0xA2: "PC-98/E Add-on Card",
    0xA3: "PC-98/Local Bus Add-on Card",
    0xA4: "CXL Add-on Card",
}
"""7.17.1."""

ARRAY_USE: Final = _from_one(
    "Other",
    "Unknown",
    "System Memory",
    "Video Memory",
    "Flash Memory",
    "Non-volatile RAM",
    "Cache Memory",
)
"""7.17.2."""

ARRAY_CORRECTION: Final = _from_one(
    "Other", "Unknown", "None", "Parity", "Single-bit ECC", "Multi-bit ECC", "CRC"
)
"""7.17.3."""

FORM_FACTOR: Final = _from_one(
    "Other",
    "Unknown",
    "SIMM",
    "SIP",
    "Chip",
    "DIP",
    "ZIP",
    "Proprietary Card",
    "DIMM",
    "TSOP",
    "Row Of Chips",
    "RIMM",
    "SODIMM",
    "SRIMM",
    "FB-DIMM",
    "Die",
    "CAMM",
)
"""7.18.1."""

MEMORY_TYPE: Final = {
    **_from_one(
        "Other",
        "Unknown",
        "DRAM",
        "EDRAM",
        "VRAM",
        "SRAM",
        "RAM",
        "ROM",
        "Flash",
        "EEPROM",
        "FEPROM",
        "EPROM",
        "CDRAM",
        "3DRAM",
        "SDRAM",
        "SGRAM",
        "RDRAM",
        "DDR",
        "DDR2",
        "DDR2 FB-DIMM",
    ),
    0x18: "DDR3",
    0x19: "FBD2",
    0x1A: "DDR4",
    0x1B: "LPDDR",
    0x1C: "LPDDR2",
    0x1D: "LPDDR3",
    0x1E: "LPDDR4",
    0x1F: "Logical non-volatile device",
    0x20: "HBM",
    0x21: "HBM2",
    0x22: "DDR5",
    0x23: "LPDDR5",
    0x24: "HBM3",
}
"""7.18.2."""

MEMORY_DETAIL: Final = _from_one(
    "Other",
    "Unknown",
    "Fast-paged",
    "Static Column",
    "Pseudo-static",
    "RAMBus",
    "Synchronous",
    "CMOS",
    "EDO",
    "Window DRAM",
    "Cache DRAM",
    "Non-Volatile",
    "Registered (Buffered)",
    "Unbuffered (Unregistered)",
    "LRDIMM",
)
"""7.18.3, by bit."""

MEMORY_TECHNOLOGY: Final = _from_one(
    "Other",
    "Unknown",
    "DRAM",
    "NVDIMM-N",
    "NVDIMM-F",
    "NVDIMM-P",
    "Persistent memory",
)
"""7.18.6."""

OPERATING_MODE: Final = _from_one(
    "Other",
    "Unknown",
    "Volatile memory",
    "Byte-accessible persistent memory",
    "Block-accessible persistent memory",
)
"""7.18.7, by bit."""

DISABLED: Final = "Disabled"
ENABLED: Final = "Enabled"
NOT_IMPLEMENTED: Final = "Not Implemented"
SECURITY_STATUS: Final = {0: DISABLED, 1: ENABLED, 2: NOT_IMPLEMENTED, 3: "Unknown"}
"""7.25.1, by two bits."""
