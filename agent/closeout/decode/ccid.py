"""What a smart card reader can do, out of its functional descriptor.

Layout: USB-IF, Device Class: Smart Card, CCID, revision 1.1, section 5.1 (54 bytes, type 21h).
"""

from __future__ import annotations

from typing import Final

from closeout.decode.failure import DecodeError
from closeout.decode.usb_descriptors import UsbDescriptors
from closeout.model.frozen import frozen

WHAT: Final = "smart card reader's descriptor"
SMART_CARD: Final = 0x0B
FUNCTIONAL: Final = 0x21
LENGTH: Final = 54
VOLTAGES: Final = ((1, "5.0 V"), (2, "3.0 V"), (4, "1.8 V"))
PROTOCOLS: Final = ((1, "T=0"), (2, "T=1"))


@frozen
class CardReader:
    """Slots, voltages and protocols of a reader, and the revision of the class it follows."""

    revision: str
    slots: int
    voltages: tuple[str, ...]
    protocols: tuple[str, ...]


def decode_ccid(raw: bytes) -> CardReader:
    """The reader of a functional descriptor; raises DecodeError for another one."""
    if len(raw) < LENGTH:
        raise DecodeError(WHAT, len(raw), f"needs {LENGTH} bytes")
    if raw[0] < LENGTH or raw[1] != FUNCTIONAL:
        raise DecodeError(WHAT, 0, f"length {raw[0]}, type {raw[1]:02x}h")
    protocols = int.from_bytes(raw[6:10], "little")
    return CardReader(
        revision=f"{raw[3]:x}.{raw[2]:02x}",
        slots=raw[4] + 1,
        voltages=tuple(words for bit, words in VOLTAGES if raw[5] & bit),
        protocols=tuple(words for bit, words in PROTOCOLS if protocols & bit),
    )


def find_ccid(descriptors: UsbDescriptors, interface: int) -> bytes | None:
    """The functional descriptor of the smart card interface of that number; None without one."""
    for setting in descriptors.interfaces:
        if setting.number == interface and setting.triple[0] == SMART_CARD:
            for one in setting.others:
                if one[1] == FUNCTIONAL:
                    return one
    return None
