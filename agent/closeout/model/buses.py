"""Everything the buses show, named where a name is known and numbered otherwise."""

from __future__ import annotations

from closeout.model.attribute import Shape, about
from closeout.model.device import Device
from closeout.model.frozen import field, frozen
from closeout.model.reading import Reading


@frozen
class PciDevice(Device):
    """One PCI function."""

    ids: Reading[str] = field(metadata=about("vendor:device, four hex digits each"))
    subsystem_ids: Reading[str] = field(metadata=about("subsystem vendor:device"))
    class_code: Reading[str] = field(metadata=about("class code, six hex digits"))
    class_words: Reading[str] = field(metadata=about("what the class code means"))
    vendor_name: Reading[str] = field(metadata=about("vendor by the system's pci.ids"))
    device_name: Reading[str] = field(metadata=about("device by the system's pci.ids"))
    driver: Reading[str] = field(metadata=about("kernel driver bound to it"))
    unbound: Reading[bool] = field(
        metadata=about("no driver is bound although its class usually has one", Shape.FLAG)
    )
    link_speed: Reading[str] = field(
        metadata=about("speed of its PCI Express link now; slow at rest is no fault")
    )
    link_speed_possible: Reading[str] = field(
        metadata=about("speed that both ends of the link can have")
    )
    link_width: Reading[int] = field(metadata=about("lanes of the link now", Shape.INTEGER))
    link_width_possible: Reading[int] = field(
        metadata=about("lanes that both ends of the link can have", Shape.INTEGER)
    )
    link_narrow: Reading[bool] = field(
        metadata=about("the link has fewer lanes than both ends can", Shape.FLAG)
    )


@frozen
class UsbDevice(Device):
    """One USB device; its interfaces are in `interface_classes` (class/subclass/protocol)."""

    ids: Reading[str] = field(metadata=about("vendor:product, four hex digits each"))
    vendor_name: Reading[str] = field(metadata=about("vendor by its own string or usb.ids"))
    product_name: Reading[str] = field(metadata=about("product by its own string or usb.ids"))
    serial: Reading[str] = field(metadata=about("serial number of the device", personal=True))
    device_class: Reading[str] = field(metadata=about("device class, two hex digits"))
    interface_classes: Reading[tuple[str, ...]] = field(
        metadata=about("class/subclass/protocol of each interface", Shape.TEXTS)
    )
    drivers: Reading[tuple[str, ...]] = field(
        metadata=about("kernel drivers bound to its interfaces", Shape.TEXTS)
    )
    unbound: Reading[bool] = field(
        metadata=about("no interface has a driver although its class usually has one", Shape.FLAG)
    )
    speed_mbit: Reading[str] = field(metadata=about("link speed in Mbit/s as the kernel says"))
    usb_version: Reading[str] = field(
        metadata=about("release of the USB specification (bcdUSB)", Shape.VERSION)
    )
    below_ability: Reading[bool] = field(
        metadata=about("it can do SuperSpeed, and its link runs at 480 Mbit/s or less", Shape.FLAG)
    )
    firmware: Reading[str] = field(
        metadata=about("device release number (bcdDevice)", Shape.VERSION)
    )


@frozen
class BusDevice(Device):
    """One device that firmware describes, or a chip on an I2C, SPI or SDIO bus."""

    bus: Reading[str] = field(metadata=about("bus that it is on: acpi, i2c, spi, sdio, pnp ..."))
    ids: Reading[tuple[str, ...]] = field(
        metadata=about("hardware id and compatible ids, the closest first", Shape.TEXTS)
    )
    firmware_path: Reading[str] = field(metadata=about("its path in the ACPI name space"))
    driver: Reading[str] = field(metadata=about("kernel driver bound to it"))
    unbound: Reading[bool] = field(
        metadata=about("no driver is bound although such a part usually has one", Shape.FLAG)
    )
