"""Everything on the buses; each bus has its own file."""

from __future__ import annotations

from typing import Final

from closeout.readers import bus_devices, pci_devices, usb_devices

READERS: Final = (*pci_devices.READERS, *usb_devices.READERS, *bus_devices.READERS)
