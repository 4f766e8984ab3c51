"""Sound cards, with what their devices are for and which of their jacks report a plug.

Kernel paths: `sys/class/sound/cardN` with `id` (sound/core/init.c), the input devices of its jacks
below it (sound/core/jack.c), and the lists of `proc/asound`. A screen's socket is told apart: a
card that only serves one is not the sound of the notebook.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from closeout.decode.input_switches import JACK_SWITCHES, VIDEO_OUT
from closeout.decode.sound_lists import Stream, purpose_of
from closeout.kernel.tree import KernelTree
from closeout.model.inventory import Listing
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Reading, Value, convert
from closeout.model.sound import SoundCard
from closeout.readers.attributes import list_class, read_text
from closeout.readers.input_switches import (
    find_inputs_under,
    name_input,
    select_inputs,
    select_set,
)
from closeout.readers.places import is_made_of_software, label_of, locate, read_position
from closeout.readers.radio import read_driver
from closeout.readers.reader import Reader
from closeout.readers.sound_lists import number_of, read_named_card, read_streams

CLASS: Final = "sys/class/sound"
CARD: Final = late_pattern(r"card\d+")
DISPLAY: Final = "display"
DIGITAL_MICROPHONE: Final = "digital microphone"


def find_cards(tree: KernelTree) -> Listing:
    """The places of all cards with hardware behind them."""
    listing = list_class(tree, CLASS)
    if not isinstance(listing, Value):
        return listing
    places = (locate(tree, f"{CLASS}/{name}") for name in listing.value if CARD.fullmatch(name))
    hard = tuple(place for place in places if not is_made_of_software(tree, place))
    return Value(value=hard, sources=listing.sources)


def read_card(tree: KernelTree, place: str) -> SoundCard:
    """One card."""
    number = number_of(place)
    named = read_named_card(tree, number)
    streams = read_streams(tree, number)
    name = convert(named, lambda card: card.name)
    inputs = find_inputs_under(tree, place)
    jacks = select_inputs(tree, inputs, JACK_SWITCHES, {VIDEO_OUT})
    plugged = select_set(tree, jacks, JACK_SWITCHES)
    before = name.value if isinstance(name, Value) else ""
    return SoundCard(
        place=place,
        label=label_of(place),
        position=read_position(tree, place),
        card_id=read_text(tree, f"{place}/id"),
        driver=read_driver(tree, locate(tree, f"{place}/device")),
        name=name,
        long_name=convert(named, lambda card: card.long_name),
        serves=convert(streams, _serves),
        playback_devices=convert(streams, _count_playback),
        capture_devices=convert(streams, _count_capture),
        jacks=_named(tree, jacks, before),
        plugged=_named(tree, plugged, before),
    )


def _serves(streams: Iterable[Stream]) -> tuple[str, ...]:
    """What the devices are for, each word once, in a fixed order."""
    found: set[str] = set()
    for stream in streams:
        purpose = purpose_of(stream.identifier)
        if purpose == DISPLAY:
            found.add(DISPLAY)
            continue
        found |= {"playback"} if stream.playback else set()
        found |= {"capture"} if stream.capture else set()
        if stream.capture and purpose == DIGITAL_MICROPHONE:
            found.add(DIGITAL_MICROPHONE)
    order = ("playback", "capture", DIGITAL_MICROPHONE, DISPLAY)
    return tuple(word for word in order if word in found)


def _count_playback(streams: Iterable[Stream]) -> int:
    return sum(1 for one in streams if one.playback and purpose_of(one.identifier) != DISPLAY)


def _count_capture(streams: Iterable[Stream]) -> int:
    return sum(1 for one in streams if one.capture)


def _named(
    tree: KernelTree, places: Reading[tuple[str, ...]], before: str
) -> Reading[tuple[str, ...]]:
    return convert(places, lambda found: tuple(name_input(tree, one, before) for one in found))


READERS: Final = (Reader(kind="sound_card", find=find_cards, read=read_card),)
