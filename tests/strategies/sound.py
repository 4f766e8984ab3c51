"""What the kernel shows of sound, built from fields: the lists of `proc/asound` and a codec.

Formats: sound/core/init.c, sound/core/pcm.c and sound/pci/hda/hda_proc.c of the kernel.
"""

from collections.abc import Iterable
from dataclasses import dataclass

CONNECTIVITY = ("Jack", "N/A", "Fixed", "Both")
SPEAKER = 0x90170110
MICROPHONE = 0x90A60130
HEADPHONE = 0x03211020
HDMI = 0x18560010
UNUSED = 0x411111F0
"""Configuration defaults as firmware writes them: inside, inside, a jack at the left, a screen's
socket, and the value for a pin that leads nowhere (Documentation/sound/hd-audio/notes.rst)."""
HDMI_PINCAP = 0x0B000094
PLAIN_PINCAP = 0x00000014


@dataclass(frozen=True, slots=True, kw_only=True)
class CodecPlan:
    """A codec with the values of its pins: configuration default and capabilities."""

    name: str = "Calder CX21"
    vendor: int = 0xFE150256
    subsystem: int = 0xFE100014
    revision: int = 0x00100002
    pins: tuple[tuple[int, int], ...] = ()


def build_codec(plan: CodecPlan) -> bytes:
    """The text of `codec#N`, with a node that is no pin before each pin."""
    lines = [
        f"Codec: {plan.name}",
        "Address: 0",
        "AFG Function Id: 0x1 (unsol 1)",
        f"Vendor Id: 0x{plan.vendor:08x}",
        f"Subsystem Id: 0x{plan.subsystem:08x}",
        f"Revision Id: 0x{plan.revision:x}",
        "No Modem Function Group found",
        "Default PCM:",
        "    rates [0x1fc]: 16000 22050 32000 44100 48000 88200 96000",
    ]
    for number, (default, capabilities) in enumerate(plan.pins):
        lines += [
            f"Node 0x{2 * number + 2:02x} [Audio Output] wcaps 0x1d: Stereo Amp-Out",
            '  Control: name="Master Playback Volume", index=0, device=0',
            f"Node 0x{2 * number + 3:02x} [Pin Complex] wcaps 0x400101: Stereo",
            f"  Pincap 0x{capabilities:08x}: OUT",
            f"  Pin Default 0x{default:08x}: [{CONNECTIVITY[default >> 30]}] and words",
            "    Conn = Unknown, Color = Green",
            "  Pin-ctls: 0x40: OUT",
        ]
    return ("\n".join(lines) + "\n").encode()


def build_cards(cards: Iterable[tuple[int, str, str, str]]) -> bytes:
    """`proc/asound/cards` of number, id, name and long name."""
    lines = [
        f"{number:2d} [{identifier:<15s}]: HDA-Fen - {name}\n                      {long_name}\n"
        for number, identifier, name, long_name in cards
    ]
    return "".join(lines).encode() or b"--- no soundcards ---\n"


def build_streams(streams: Iterable[tuple[int, int, str, int, int]]) -> bytes:
    """`proc/asound/pcm` of card, device, id, and how many play and capture."""
    lines = []
    for card, device, identifier, playback, capture in streams:
        line = f"{card:02d}-{device:02d}: {identifier} : {identifier}"
        line += f" : playback {playback}" if playback else ""
        line += f" : capture {capture}" if capture else ""
        lines.append(line + "\n")
    return "".join(lines).encode()
