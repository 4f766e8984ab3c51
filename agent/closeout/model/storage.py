"""Drives with their identity (NVMe, SATA and others the block class shows)."""

from closeout.model.attribute import Shape, about
from closeout.model.device import Device
from closeout.model.frozen import field, frozen
from closeout.model.reading import Reading


@frozen
class Drive(Device):
    """One drive; never opened, only its attributes are read."""

    bus: Reading[str] = field(
        metadata=about("nvme, sata, usb, mmc or another bus word", by_place=True)
    )
    model: Reading[str] = field(metadata=about("model name of the drive"))
    serial: Reading[str] = field(metadata=about("serial number of the drive", personal=True))
    firmware: Reading[str] = field(metadata=about("firmware revision", Shape.VERSION))
    size_bytes: Reading[int] = field(metadata=about("size of the drive", Shape.INTEGER, unit="B"))
    state: Reading[str] = field(metadata=about("what its controller says: live, running ..."))
    rotational: Reading[bool] = field(metadata=about("it has turning platters", Shape.FLAG))
    removable: Reading[bool] = field(metadata=about("its medium can be taken out", Shape.FLAG))
