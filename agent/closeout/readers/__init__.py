"""Tree to devices: one file a class, and the explicit list of them."""

from typing import Final

from closeout.readers import (
    battery,
    buses,
    clock,
    display,
    firmware,
    hardware_errors,
    identity,
    kernel_log,
    memory,
    second_opinions,
    storage,
    wireless,
)
from closeout.readers.reader import Reader

READERS: Final[tuple[Reader, ...]] = (
    *identity.READERS,
    *firmware.READERS,
    *memory.READERS,
    *storage.READERS,
    *display.READERS,
    *battery.READERS,
    *wireless.READERS,
    *buses.READERS,
    *clock.READERS,
    *hardware_errors.READERS,
    *kernel_log.READERS,
    *second_opinions.READERS,
)
"""Every reader, in the order of `model.inventory.KINDS`."""
