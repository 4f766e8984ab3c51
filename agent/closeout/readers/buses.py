"""Ports and everything on the buses; each kind has its own file."""

from typing import Final

from closeout.readers import (
    bus_devices,
    pci_devices,
    thunderbolt,
    type_c_ports,
    usb_devices,
    usb_ports,
)

READERS: Final = (
    *type_c_ports.READERS,
    *usb_ports.READERS,
    *thunderbolt.READERS,
    *pci_devices.READERS,
    *usb_devices.READERS,
    *bus_devices.READERS,
)
