"""Tree to devices: one file a class, and the explicit list of them."""

from typing import Final

from closeout.readers import (
    battery,
    buses,
    display,
    firmware,
    identity,
    input_bus,
    inputs,
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
    *inputs.READERS,
    *battery.READERS,
    *wireless.READERS,
    *buses.READERS,
    *input_bus.READERS,
    *second_opinions.READERS,
)
"""Every reader, in the order of `model.inventory.KINDS`."""
