"""Tree to devices: one file a class, and the explicit list of them."""

from typing import Final

from closeout.readers import (
    battery,
    buses,
    display,
    firmware,
    identity,
    memory,
    second_opinions,
    sensors,
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
    *sensors.READERS,
    *wireless.READERS,
    *buses.READERS,
    *second_opinions.READERS,
)
"""Every reader, in the order of `model.inventory.KINDS`."""
