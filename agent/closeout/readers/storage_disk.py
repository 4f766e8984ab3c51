"""One disk of the block class: SATA, USB, MMC and others.

Kernel path: `sys/block/NAME` and its `device` link (Documentation/ABI/stable/sysfs-block).
What a SATA drive says of itself is cut to the widths of SCSI in `device/model` and
`device/rev`; page 89h of its vital product data and udev's database have it whole.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from closeout.decode.scsi_pages import AtaIdentity, decode_ata_information, decode_unit_serial
from closeout.decode.udev_properties import find_property
from closeout.kernel.tree import KernelTree
from closeout.model.device import Position
from closeout.model.frozen import frozen
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Absent, Blank, Reading, Value, convert
from closeout.model.storage import Drive
from closeout.readers.ata_health import read_ata_health
from closeout.readers.attributes import read_bytes, read_flag, read_integer, read_text
from closeout.readers.drive_answers import Told, decoded, with_health
from closeout.readers.emmc_health import read_emmc_health
from closeout.readers.first_told import first_told
from closeout.readers.placeholder import sort_text
from closeout.readers.places import label_of, read_position
from closeout.readers.udev_copy import read_udev

SECTOR_BYTES: Final = 512
BUS_BY_FOLDER: Final = (
    (late_pattern(r"/usb\d+(/|$)"), "usb"),
    (late_pattern(r"/ata\d+(/|$)"), "sata"),
    (late_pattern(r"/mmc_host(/|$)"), "mmc"),
    (late_pattern(r"/nvme\d+(/|$)"), "nvme"),
)
BUS_BY_UDEV: Final = {"ata": "sata"}
SD_CARDS: Final = frozenset({"SD", "SDcombo"})
POSITION_BY_CARD: Final = {"MMC": Position.INTERNAL, "SD": Position.EXTERNAL}
"""An eMMC is soldered, an SD card is put in (kernel word in `device/type` of an MMC card)."""


@frozen
class Telling:
    """What several attributes of one disk come from, each asked once."""

    ata: Reading[AtaIdentity]
    udev: Reading[Mapping[str, str]]


def read_disk(tree: KernelTree, place: str) -> Drive:
    """One disk; each attribute from the first file that tells it whole."""
    telling = Telling(ata=_read_ata_page(tree, place), udev=read_udev(tree, place))
    bus = _read_bus(place, telling)
    removable = read_flag(tree, f"{place}/removable")
    drive = Drive(
        place=place,
        label=label_of(place),
        position=_read_position(tree, place, bus, removable),
        bus=bus,
        model=_read_model(tree, place, telling),
        serial=sort_text(_read_serial(tree, place, telling), "Drive/Serial Number"),
        firmware=_read_firmware(tree, place, telling),
        size_bytes=convert(
            read_integer(tree, f"{place}/size"), lambda sectors: sectors * SECTOR_BYTES
        ),
        state=read_text(tree, f"{place}/device/state"),
        rotational=read_flag(tree, f"{place}/queue/rotational"),
        removable=removable,
    )
    return with_health(drive, _read_health(tree, place, bus))


def _read_health(tree: KernelTree, place: str, bus: Reading[str]) -> Mapping[str, Told]:
    """By its bus: SATA and eMMC tell of their health, an SD card and the rest do not."""
    if isinstance(bus, Value) and bus.value == "sata":
        return read_ata_health(tree, place)
    card = read_text(tree, f"{place}/device/type")
    if isinstance(bus, Value) and bus.value == "mmc" and not is_sd(card):
        return read_emmc_health(tree, place)
    return {"tells_health": convert(bus, lambda _: False)}


def is_sd(card: Reading[str]) -> bool:
    """It says that it is an SD card."""
    return isinstance(card, Value) and card.value in SD_CARDS


def _read_ata_page(tree: KernelTree, place: str) -> Reading[AtaIdentity]:
    page = read_bytes(tree, f"{place}/device/vpd_pg89")
    return decoded(page, decode_ata_information)


def _property(telling: Telling, name: str) -> Reading[str]:
    if not isinstance(telling.udev, Value):
        return telling.udev
    found = find_property(telling.udev.value, name)
    if found is None:
        return Absent(reason=f"udev has no {name}", sources=telling.udev.sources)
    return Value(value=found, sources=telling.udev.sources)


def _filled(text: Reading[str]) -> Reading[str]:
    """Trimmed; a text of nothing but padding is blank."""
    trimmed = convert(text, str.strip)
    if isinstance(trimmed, Value) and not trimmed.value:
        return Blank(reason="nothing but padding", sources=trimmed.sources)
    return trimmed


def _read_model(tree: KernelTree, place: str, telling: Telling) -> Reading[str]:
    ways = (
        lambda: _filled(convert(telling.ata, lambda identity: identity.model)),
        lambda: _property(telling, "ID_MODEL"),
        lambda: _filled(read_text(tree, f"{place}/device/model")),
        lambda: _filled(read_text(tree, f"{place}/device/name")),
    )
    return first_told(ways, "no file tells the model of this disk")


def _read_serial(tree: KernelTree, place: str, telling: Telling) -> Reading[str]:
    device = f"{place}/device"
    ways = (
        lambda: _filled(convert(telling.ata, lambda identity: identity.serial)),
        lambda: _filled(decoded(read_bytes(tree, f"{device}/vpd_pg80"), decode_unit_serial)),
        lambda: _property(telling, "ID_SERIAL_SHORT"),
        lambda: _filled(read_text(tree, f"{device}/serial")),
        lambda: _filled(read_text(tree, f"{place}/serial")),
    )
    return first_told(ways, "no file tells the serial number of this disk")


def _read_firmware(tree: KernelTree, place: str, telling: Telling) -> Reading[str]:
    device = f"{place}/device"
    ways = (
        lambda: _filled(convert(telling.ata, lambda identity: identity.firmware)),
        lambda: _property(telling, "ID_REVISION"),
        lambda: _filled(read_text(tree, f"{device}/rev")),
        lambda: _filled(read_text(tree, f"{device}/firmware_rev")),
        lambda: _filled(read_text(tree, f"{device}/fwrev")),
    )
    return first_told(ways, "no file tells the firmware of this disk")


def _read_bus(place: str, telling: Telling) -> Reading[str]:
    for folder, word in BUS_BY_FOLDER:
        if folder.search(place):
            return Value(value=word, sources=(place,))
    return convert(_property(telling, "ID_BUS"), lambda word: BUS_BY_UDEV.get(word, word))


def _read_position(
    tree: KernelTree, place: str, bus: Reading[str], removable: Reading[bool]
) -> Position:
    """A USB disk is external unless its port is wired inside and its medium is fixed."""
    found = read_position(tree, place)
    stays = isinstance(removable, Value) and not removable.value
    comes_out = isinstance(removable, Value) and removable.value
    if isinstance(bus, Value) and bus.value == "usb":
        return Position.INTERNAL if found is Position.INTERNAL and stays else Position.EXTERNAL
    if isinstance(bus, Value) and bus.value == "mmc":
        card = read_text(tree, f"{place}/device/type")
        return POSITION_BY_CARD.get(card.value, found) if isinstance(card, Value) else found
    return Position.EXTERNAL if comes_out else found
