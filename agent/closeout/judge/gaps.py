"""Why devices that were not found may be there all the same, in words for a finding."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from closeout.judge.coverage import HIDDEN_BY_MODE, find_hiding, find_unserved, is_candidate
from closeout.model.buses import PciDevice
from closeout.model.camera import Camera
from closeout.model.device import Device
from closeout.model.inventory import Inventory
from closeout.model.reading import Value

SOUND_PROCESSORS: Final = ("0401", "040380")
"""Class codes of a sound function whose processor is switched on (sound/hda/intel-dsp-config.c);
without its firmware file the driver stays bound and makes no card (sound/soc/sof/loader.c). Plain
HD Audio, 040300, needs none: no card there is a fault."""


STORAGE_MODE: Final = "storage mode changed"


def describe_gap(inventory: Inventory, kind: str, ids: tuple[str, ...] = ()) -> str:
    """What hides devices of `kind`: a mode, no driver, no firmware, no sensor; else empty.

    `ids` are those by which the profile knows the part on its bus.
    """
    hiding = find_hiding(inventory) if kind in HIDDEN_BY_MODE else ()
    if hiding:
        return f"{STORAGE_MODE}: {_labels(hiding)} keeps its drives from this system"
    told: list[str] = []
    if unserved := find_unserved(inventory, kind, ids):
        told.append(f"the bus shows {_labels(unserved)} without a driver")
    if kind == "sound_card" and (silent := find_silent(inventory)):
        told.append(
            f"{_labels(silent)} has its driver and gives no card, as where the sound processor's"
            " firmware is missing from this system"
        )
    if kind == "camera" and (blind := find_blind(inventory)):
        told.append(f"this system has no driver for a sensor behind {_labels(blind)}")
    return "; ".join(told)


def find_silent(inventory: Inventory) -> tuple[Device, ...]:
    """The sound processors that have a driver, and no card behind them."""
    cards = [card.place for card in inventory.section("sound_card").devices]
    return tuple(
        device
        for device in inventory.section("pci_device").devices
        if isinstance(device, PciDevice)
        and isinstance(device.driver, Value)
        and is_candidate(inventory, device, SOUND_PROCESSORS)
        and not any(card.startswith(f"{device.place}/") for card in cards)
    )


def find_blind(inventory: Inventory) -> tuple[Device, ...]:
    """The image units with video nodes, and no sensor that has a driver."""
    return tuple(
        device
        for device in inventory.section("camera").devices
        if isinstance(device, Camera)
        and isinstance(device.bus, Value)
        and device.bus.value != "usb"
        and isinstance(device.fitted, Value)
        and not device.fitted.value
    )


def _labels(devices: Iterable[Device]) -> str:
    return ", ".join(device.label for device in devices)
