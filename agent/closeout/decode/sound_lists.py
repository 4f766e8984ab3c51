"""The lists of `proc/asound`: cards with their names, and devices that play or capture.

Formats: the kernel's sound/core/init.c (`cards`) and sound/core/pcm.c (`pcm`, and `info` of one
device); Documentation/sound/designs/procfile.rst.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

from closeout.decode.failure import DecodeError
from closeout.decode.plain_text import decode_text
from closeout.model.frozen import frozen
from closeout.model.late_pattern import late_pattern

CARD: Final = late_pattern(r" ?(\d{1,3}) \[(.{1,60}?) *\]: (.*?) - (.*)")
NO_CARDS: Final = "--- no soundcards ---"
STREAM: Final = late_pattern(
    r"(\d{2,3})-(\d{2,3}): (.*?) : (.*?)(?: : playback (\d{1,4}))?(?: : capture (\d{1,4}))?"
)
DISPLAY: Final = late_pattern(r"\b(?:hdmi|dp|displayport|idisp)\d*\b", re.IGNORECASE)
DIGITAL_MICROPHONE: Final = late_pattern(r"(?:^|[^a-z])dmic")


@frozen
class NamedCard:
    """A card of the list: its short name, and the long one below it."""

    number: int
    identifier: str
    name: str
    long_name: str


@frozen
class Stream:
    """A device of a card, with how many may play or capture at once; 0 is not that way."""

    card: int
    device: int
    identifier: str
    playback: int
    capture: int


def decode_cards(raw: bytes) -> tuple[NamedCard, ...]:
    """The cards of `proc/asound/cards`; raises DecodeError for a line that is none of its own."""
    lines = [line for line in decode_text(raw).split("\n") if line.strip()]
    if [line.strip() for line in lines] == [NO_CARDS]:
        return ()
    cards: list[NamedCard] = []
    for place in range(0, len(lines), 2):
        found = CARD.fullmatch(lines[place])
        if found is None:
            raise DecodeError("list of sound cards", 0, f"no card: {lines[place]!r:.60}")
        number, identifier, _, name = found.groups()
        below = lines[place + 1].strip() if place + 1 < len(lines) else ""
        cards.append(
            NamedCard(number=int(number), identifier=identifier, name=name, long_name=below)
        )
    return tuple(cards)


def decode_streams(raw: bytes) -> tuple[Stream, ...]:
    """The devices of `proc/asound/pcm`; raises DecodeError for a line that is none."""
    return tuple(_stream(line) for line in decode_text(raw).split("\n") if line.strip())


def decode_stream_state(raw: bytes) -> Mapping[str, str]:
    """The fields of `proc/asound/cardN/pcmNp/info`, by name; total."""
    pairs = (line.partition(": ") for line in decode_text(raw).split("\n"))
    return {name: told for name, mark, told in pairs if mark}


def purpose_of(identifier: str) -> str:
    """What a device is for, by the word that its driver has for it.

    Drivers call those of HDMI and DisplayPort by that name (hdmi.c of HD Audio, "HDMI %d"; the
    machine drivers of sound/soc likewise), and digital microphones DMIC: common practice, which
    no document demands.
    """
    if DISPLAY.search(identifier):
        return "display"
    return "digital microphone" if DIGITAL_MICROPHONE.search(identifier.lower()) else "general"


def _stream(line: str) -> Stream:
    found = STREAM.fullmatch(line)
    if found is None:
        raise DecodeError("list of sound devices", 0, f"no device: {line!r:.60}")
    card, device, identifier, _, playback, capture = found.groups()
    return Stream(
        card=int(card),
        device=int(device),
        identifier=identifier,
        playback=int(playback or 0),
        capture=int(capture or 0),
    )
