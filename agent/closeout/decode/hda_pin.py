"""What one pin of an HD Audio codec is wired to, out of its configuration default.

Layout: Intel, High Definition Audio Specification 1.0a, section 7.3.3.31 (configuration default)
and 7.3.4.9 (pin capabilities); the same fields in the kernel's include/sound/hda_verbs.h. The
firmware writes the value, so it is the maker's word for what the board has.
"""

from __future__ import annotations

from typing import Final

from closeout.decode.failure import DecodeError
from closeout.model.frozen import frozen

LARGEST: Final = 0xFFFF_FFFF
UNCONNECTED: Final = 1
INSIDE: Final = frozenset({2, 3})
"""Port connectivity: a fixed device, or a jack and a fixed device on one pin."""
INSIDE_LOCATION: Final = 1
"""Upper two bits of the location: inside the unit."""
DEVICES: Final = (
    "line out",
    "speaker",
    "headphone",
    "CD",
    "digital out",
    "other digital out",
    "modem line",
    "modem handset",
    "line in",
    "auxiliary in",
    "microphone",
    "telephony",
    "digital in",
    "other digital in",
    "reserved",
    "other",
)
"""Default device by its four bits."""
HDMI_CAPABLE: Final = 1 << 7
DISPLAYPORT_CAPABLE: Final = 1 << 24


@frozen
class HdaPin:
    """One pin: the device it is for, where that is, and whether it serves a screen."""

    device: str
    connected: bool
    inside: bool
    display: bool


def decode_pin(default: int, capabilities: int = 0) -> HdaPin:
    """The pin of these two values; raises DecodeError for what is no number of 32 bits."""
    for value in (default, capabilities):
        if not 0 <= value <= LARGEST:
            raise DecodeError("HD Audio pin", 0, f"{value} does not fit into 32 bits")
    connectivity = default >> 30
    location = default >> 28 & 0b11
    return HdaPin(
        device=DEVICES[default >> 20 & 0b1111],
        connected=connectivity != UNCONNECTED,
        inside=connectivity in INSIDE or location == INSIDE_LOCATION,
        display=bool(capabilities & (HDMI_CAPABLE | DISPLAYPORT_CAPABLE)),
    )
