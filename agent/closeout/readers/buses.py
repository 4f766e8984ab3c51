"""Everything on the PCI and USB buses; each bus has its own file."""

from typing import Final

from closeout.readers import pci_devices, usb_devices

READERS: Final = (*pci_devices.READERS, *usb_devices.READERS)
