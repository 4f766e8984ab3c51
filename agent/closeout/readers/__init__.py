"""Tree to devices: one file a class, and the explicit list of them."""

from typing import Final

from closeout.readers import (
    battery,
    buses,
    display,
    firmware,
    firmware_password,
    firmware_resource,
    identity,
    memory,
    processor,
    second_opinions,
    storage,
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
    *display.READERS,
    *battery.READERS,
    *wireless.READERS,
    *buses.READERS,
    *second_opinions.READERS,
)
"""Every reader, in the order of `model.inventory.KINDS`."""
