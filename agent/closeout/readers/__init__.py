"""Tree to devices: one file a class, and the explicit list of them."""

from typing import Final

from closeout.readers import (
    battery,
    buses,
    camera,
    display,
    firmware,
    identity,
    memory,
    nfc,
    second_opinions,
    smart_card_reader,
    sound,
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
    *nfc.READERS,
    *sound.READERS,
    *camera.READERS,
    *smart_card_reader.READERS,
    *buses.READERS,
    *second_opinions.READERS,
)
"""Every reader, in the order of `model.inventory.KINDS`."""
