"""Tree to devices: one file a class, and the explicit list of them."""

from __future__ import annotations

from typing import Final

from closeout.readers import (
    battery,
    buses,
    camera,
    card_reader,
    clock,
    display,
    firmware,
    firmware_password,
    firmware_resource,
    hardware_errors,
    identity,
    input_bus,
    inputs,
    kernel_log,
    memory,
    networks,
    nfc,
    ports,
    processor,
    second_opinions,
    sensors,
    smart_card_reader,
    sound,
    storage,
    storage_controller,
    tpm,
    wireless,
)
from closeout.readers.reader import Reader

READERS: Final[tuple[Reader, ...]] = (
    *identity.READERS,
    *firmware.READERS,
    *firmware_resource.READERS,
    *firmware_password.READERS,
    *tpm.READERS,
    *processor.READERS,
    *memory.READERS,
    *storage.READERS,
    *storage_controller.READERS,
    *card_reader.READERS,
    *display.READERS,
    *inputs.READERS,
    *battery.READERS,
    *sensors.READERS,
    *wireless.READERS,
    *networks.READERS,
    *ports.READERS,
    *nfc.READERS,
    *sound.READERS,
    *camera.READERS,
    *smart_card_reader.READERS,
    *buses.READERS,
    *input_bus.READERS,
    *clock.READERS,
    *hardware_errors.READERS,
    *kernel_log.READERS,
    *second_opinions.READERS,
)
"""Every reader, in the order of `model.inventory.KINDS`."""
