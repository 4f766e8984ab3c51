"""All devices of a run, section by section, with how far each section could be read."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from closeout.model.battery import Adapter, Battery
from closeout.model.buses import PciDevice, UsbDevice
from closeout.model.device import Device
from closeout.model.display import Backlight, Display
from closeout.model.firmware import FirmwareState, LicenceTable
from closeout.model.firmware_password import FirmwarePassword
from closeout.model.firmware_resource import FirmwareResource
from closeout.model.identity import Bios, Board, Chassis, IdentityViews, OemStrings, System
from closeout.model.memory import MainMemory, MemoryModule
from closeout.model.processor import Processor
from closeout.model.reading import Absent, Unreadable, Value
from closeout.model.second_opinions import SecondOpinions
from closeout.model.storage import Drive
from closeout.model.tpm import Tpm
from closeout.model.wireless import Bluetooth, Wifi

KINDS: Final[Mapping[str, type[Device]]] = {
    "system": System,
    "board": Board,
    "chassis": Chassis,
    "bios": Bios,
    "oem_strings": OemStrings,
    "identity_views": IdentityViews,
    "firmware": FirmwareState,
    "licence": LicenceTable,
    "firmware_resource": FirmwareResource,
    "firmware_password": FirmwarePassword,
    "tpm": Tpm,
    "processor": Processor,
    "main_memory": MainMemory,
    "memory_module": MemoryModule,
    "drive": Drive,
    "display": Display,
    "backlight": Backlight,
    "battery": Battery,
    "adapter": Adapter,
    "wifi": Wifi,
    "bluetooth": Bluetooth,
    "pci_device": PciDevice,
    "usb_device": UsbDevice,
    "second_opinions": SecondOpinions,
}

Listing = Value[tuple[str, ...]] | Absent | Unreadable
"""The places of a kind: a value may be empty (none there); Absent or Unreadable is not empty."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """The devices of one kind; `listing` says whether the kind could be listed at all."""

    kind: str
    listing: Listing
    devices: tuple[Device, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Inventory:
    """Every section of a run, in the order of `KINDS`."""

    sections: tuple[Section, ...]

    def section(self, kind: str) -> Section:
        """The section of a kind; a kind nobody read is listed as unreadable."""
        for section in self.sections:
            if section.kind == kind:
                return section
        gap = Unreadable(error="NOT_READ", advice="read this kind of device", sources=())
        return Section(kind=kind, listing=gap, devices=())
