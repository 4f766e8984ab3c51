"""All devices of a run, section by section, with how far each section could be read."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from closeout.model.battery import Adapter, Battery, PeripheralBattery
from closeout.model.buses import BusDevice, PciDevice, UsbDevice
from closeout.model.camera import Camera
from closeout.model.card_contact import Nfc, SmartCardReader
from closeout.model.clock import Clock
from closeout.model.device import Device
from closeout.model.display import Backlight, Display
from closeout.model.firmware import FirmwareState, LicenceTable
from closeout.model.firmware_password import FirmwarePassword
from closeout.model.firmware_resource import FirmwareResource
from closeout.model.frozen import frozen
from closeout.model.hardware_errors import MachineChecks, MemoryController, PciFaults
from closeout.model.identity import Bios, Board, Chassis, IdentityViews, OemStrings, System
from closeout.model.input import (
    Button,
    InputBusDevice,
    Keyboard,
    KeyboardLight,
    LidSwitch,
    Mouse,
    Pen,
    PointingStick,
    TabletSwitch,
    Touchpad,
    Touchscreen,
)
from closeout.model.kernel_log import KernelLog, KernelMessage
from closeout.model.memory import MainMemory, MemoryModule
from closeout.model.network import Addresses, Regulatory, WiredNetwork, Wwan
from closeout.model.ports import Thunderbolt, TypeCPort, UsbPort
from closeout.model.processor import Processor
from closeout.model.reading import Absent, Unreadable, Value
from closeout.model.second_opinions import SecondOpinions
from closeout.model.sensor import Accelerometer, HingeAngle, LightSensor, ProximitySensor
from closeout.model.sound import SoundCard, SoundCodec, SoundDevice
from closeout.model.storage import CardReader, Drive, StorageController
from closeout.model.thermal import Fan, Temperature
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
    "storage_controller": StorageController,
    "card_reader": CardReader,
    "display": Display,
    "backlight": Backlight,
    "keyboard": Keyboard,
    "keyboard_light": KeyboardLight,
    "touchpad": Touchpad,
    "pointing_stick": PointingStick,
    "mouse": Mouse,
    "touchscreen": Touchscreen,
    "pen": Pen,
    "button": Button,
    "lid_switch": LidSwitch,
    "tablet_switch": TabletSwitch,
    "battery": Battery,
    "adapter": Adapter,
    "peripheral_battery": PeripheralBattery,
    "temperature": Temperature,
    "fan": Fan,
    "accelerometer": Accelerometer,
    "light_sensor": LightSensor,
    "proximity_sensor": ProximitySensor,
    "hinge_angle": HingeAngle,
    "wifi": Wifi,
    "bluetooth": Bluetooth,
    "wwan": Wwan,
    "wired_network": WiredNetwork,
    "addresses": Addresses,
    "regulatory": Regulatory,
    "type_c_port": TypeCPort,
    "usb_port": UsbPort,
    "thunderbolt": Thunderbolt,
    "nfc": Nfc,
    "sound_card": SoundCard,
    "sound_codec": SoundCodec,
    "sound_device": SoundDevice,
    "camera": Camera,
    "smart_card_reader": SmartCardReader,
    "pci_device": PciDevice,
    "usb_device": UsbDevice,
    "bus_device": BusDevice,
    "input_bus_device": InputBusDevice,
    "clock": Clock,
    "pci_faults": PciFaults,
    "memory_controller": MemoryController,
    "machine_checks": MachineChecks,
    "kernel_log": KernelLog,
    "kernel_message": KernelMessage,
    "second_opinions": SecondOpinions,
}

Listing = Value[tuple[str, ...]] | Absent | Unreadable
"""The places of a kind: a value may be empty (none there); Absent or Unreadable is not empty."""


@frozen
class Section:
    """The devices of one kind; `listing` says whether the kind could be listed at all."""

    kind: str
    listing: Listing
    devices: tuple[Device, ...]


@frozen
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
