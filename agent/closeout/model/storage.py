"""Drives with their identity, health, lock and link; what drives and cards are plugged into."""

from __future__ import annotations

from typing import Final

from closeout.model.attribute import Shape, about
from closeout.model.device import Device
from closeout.model.frozen import field, frozen
from closeout.model.reading import Absent, Reading

NOT_TOLD: Final = Absent(reason="this kind of drive does not tell it", sources=())


@frozen
class DriveIdentity(Device):
    """Which drive it is; the medium is never opened for it."""

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


@frozen
class Drive(DriveIdentity):
    """One drive: NVMe, SATA or another that the block class shows."""

    tells_health: Reading[bool] = field(
        default=NOT_TOLD,
        metadata=about("this kind of drive reports its own health", Shape.FLAG, by_place=True),
    )
    critical_warnings: Reading[tuple[str, ...]] = field(
        default=NOT_TOLD, metadata=about("what the drive itself warns of", Shape.TEXTS)
    )
    percentage_used: Reading[int] = field(
        default=NOT_TOLD,
        metadata=about(
            "its rated life used up, may pass 100; eMMC in steps of ten, rounded up",
            Shape.INTEGER,
            unit="%",
        ),
    )
    available_spare_percent: Reading[int] = field(
        default=NOT_TOLD, metadata=about("spare blocks left", Shape.INTEGER, unit="%")
    )
    spare_threshold_percent: Reading[int] = field(
        default=NOT_TOLD,
        metadata=about("spare blocks below which it warns", Shape.INTEGER, unit="%"),
    )
    media_errors: Reading[int] = field(
        default=NOT_TOLD, metadata=about("times that it could not give back intact", Shape.INTEGER)
    )
    reallocated_sectors: Reading[int] = field(
        default=NOT_TOLD, metadata=about("sectors replaced by spare ones", Shape.INTEGER)
    )
    pending_sectors: Reading[int] = field(
        default=NOT_TOLD, metadata=about("sectors that wait to be replaced", Shape.INTEGER)
    )
    uncorrectable_sectors: Reading[int] = field(
        default=NOT_TOLD, metadata=about("sectors that its own test could not read", Shape.INTEGER)
    )
    crc_errors: Reading[int] = field(
        default=NOT_TOLD,
        metadata=about("transfers that came damaged through cable or socket", Shape.INTEGER),
    )
    power_on_hours: Reading[int] = field(
        default=NOT_TOLD, metadata=about("time under power", Shape.INTEGER, unit="h")
    )
    power_cycles: Reading[int] = field(
        default=NOT_TOLD, metadata=about("times switched on", Shape.INTEGER)
    )
    unsafe_shutdowns: Reading[int] = field(
        default=NOT_TOLD,
        metadata=about("times switched off without being told before", Shape.INTEGER),
    )
    temperature_millicelsius: Reading[int] = field(
        default=NOT_TOLD, metadata=about("its temperature", Shape.INTEGER, unit="m°C")
    )
    security: Reading[tuple[str, ...]] = field(
        default=NOT_TOLD,
        metadata=about("its lock by password or self-encryption, and how it stands", Shape.TEXTS),
    )
    locked: Reading[bool] = field(
        default=NOT_TOLD, metadata=about("it gives nothing out until unlocked", Shape.FLAG)
    )
    link_speed: Reading[str] = field(
        default=NOT_TOLD, metadata=about("speed of its link now, as the kernel says")
    )
    link_speed_possible: Reading[str] = field(
        default=NOT_TOLD, metadata=about("speed that both ends of its link can have")
    )
    link_width: Reading[int] = field(
        default=NOT_TOLD, metadata=about("lanes of its PCI Express link now", Shape.INTEGER)
    )
    link_width_possible: Reading[int] = field(
        default=NOT_TOLD, metadata=about("lanes that both ends can have", Shape.INTEGER)
    )
    link_degraded: Reading[bool] = field(
        default=NOT_TOLD,
        metadata=about(
            "its link is narrower (PCI Express) or slower (SATA) than both ends can", Shape.FLAG
        ),
    )


@frozen
class StorageController(Device):
    """A PCI function that drives or memory cards are behind."""

    mode: Reading[str] = field(metadata=about("nvme, ahci, ide, raid, sd host or another word"))
    ids: Reading[str] = field(metadata=about("vendor:device, four hex digits each"))
    class_code: Reading[str] = field(metadata=about("class code, six hex digits"))
    driver: Reading[str] = field(metadata=about("kernel driver bound to it"))
    drives: Reading[tuple[str, ...]] = field(
        metadata=about("drives that show behind it", Shape.TEXTS)
    )
    remapped_drives: Reading[int] = field(
        metadata=about("NVMe drives that it keeps to itself", Shape.INTEGER)
    )
    hides_drives: Reading[bool] = field(
        metadata=about("its mode keeps drives from this system", Shape.FLAG)
    )


@frozen
class CardReader(Device):
    """A reader for memory cards, with a card or without."""

    bus: Reading[str] = field(metadata=about("mmc or usb"))
    model: Reading[str] = field(metadata=about("name of a reader on USB"))
    driver: Reading[str] = field(metadata=about("kernel driver bound to it"))
    has_card: Reading[bool] = field(metadata=about("a card is in", Shape.FLAG))
    card: Reading[str] = field(metadata=about("name that the card gives itself"))
