"""What a PCI class code means, in words (PCI-SIG, PCI Code and ID Assignment Specification 1.11).

The tables are written from the class, subclass and interface lists of that specification from
memory, with own wording.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

WORDS: Final[Mapping[str, str]] = {
    "00": "unclassified device",
    "0001": "VGA-compatible unclassified device",
    "01": "storage controller",
    "0100": "SCSI controller",
    "0101": "IDE controller",
    "0102": "floppy disk controller",
    "0104": "RAID controller",
    "0105": "ATA controller",
    "0106": "SATA controller",
    "010601": "SATA controller (AHCI)",
    "0107": "SAS controller",
    "0108": "non-volatile memory controller",
    "010802": "NVMe controller",
    "0109": "UFS controller",
    "02": "network controller",
    "0200": "Ethernet controller",
    "0280": "network controller, other than Ethernet",
    "03": "display controller",
    "0300": "VGA-compatible display controller",
    "0302": "3D controller",
    "0380": "display controller, other",
    "04": "multimedia device",
    "0400": "video device",
    "0401": "audio device",
    "0403": "high definition audio device",
    "0480": "multimedia device, other",
    "05": "memory controller",
    "0500": "RAM controller",
    "0501": "flash controller",
    "0580": "memory controller, other",
    "06": "bridge",
    "0600": "host bridge",
    "0601": "ISA bridge",
    "0604": "PCI-to-PCI bridge",
    "0607": "CardBus bridge",
    "0680": "bridge, other",
    "07": "communication controller",
    "0700": "serial port controller",
    "0703": "modem",
    "0780": "communication controller, other",
    "08": "system peripheral",
    "0800": "interrupt controller",
    "0801": "DMA controller",
    "0802": "timer",
    "0803": "real-time clock",
    "0804": "PCI hot-plug controller",
    "0805": "SD host controller",
    "0806": "IOMMU",
    "0807": "root complex event collector",
    "0880": "system peripheral, other",
    "09": "input device controller",
    "0a": "docking station",
    "0b": "processor",
    "0b40": "co-processor",
    "0c": "serial bus controller",
    "0c00": "FireWire controller",
    "0c03": "USB controller",
    "0c0300": "USB 1.1 controller (UHCI)",
    "0c0310": "USB 1.1 controller (OHCI)",
    "0c0320": "USB 2 controller (EHCI)",
    "0c0330": "USB 3 controller (xHCI)",
    "0c0340": "USB4 host interface",
    "0c05": "SMBus controller",
    "0c80": "serial bus controller, other",
    "0d": "wireless controller",
    "0d11": "Bluetooth controller",
    "0d80": "wireless controller, other",
    "0e": "intelligent I/O controller",
    "0f": "satellite communication controller",
    "10": "encryption controller",
    "11": "signal processing controller",
    "1180": "signal processing controller, other",
    "12": "processing accelerator",
    "13": "non-essential instrumentation",
    "40": "co-processor",
    "ff": "device of no defined class",
}

USUALLY_WITHOUT_DRIVER: Final = (
    "00",  # built before there were class codes
    "05",  # memory controllers: nothing to drive
    "06",  # bridges: what hangs behind them is what counts
    "0800",
    "0801",
    "0802",
    "0803",
    "0804",
    "0806",
    "0807",
    "0880",  # system peripherals, which the kernel sets up itself; SD hosts (0805) do have one
    "0c80",  # flash and sensor buses that stay with the firmware
    "11",  # signal processing: thermal telemetry, often unused
    "13",  # placeholders for numbering by their own definition
    "ff",  # no defined class, so nothing can be expected
)
"""Starts of class codes; common practice of Linux kernels on notebooks, no standard says so."""


def describe_pci_class(code: str) -> str:
    """Words for a class code of six hexadecimal digits, as exact as the table allows."""
    for length in (6, 4, 2):
        words = WORDS.get(code[:length].lower())
        if words is not None:
            return words
    return f"class {code[:2]} that no list here names"


def has_usual_driver(code: str) -> bool:
    """The kernel normally has a driver for a function of this class code."""
    return not code.lower().startswith(USUALLY_WITHOUT_DRIVER)
