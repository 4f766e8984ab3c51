"""The devices of sound cards that play or capture, each direction for itself.

Kernel paths: `sys/class/sound/pcmCxDy[pc]` (sound/core/pcm.c), the list `proc/asound/pcm`, and
`proc/asound/cardx/pcmyp/info`, which says how many of its streams are free.
"""

from __future__ import annotations

from typing import Final

from closeout.decode.numerals import parse_whole
from closeout.decode.sound_lists import Stream, decode_stream_state, purpose_of
from closeout.kernel.tree import KernelTree
from closeout.model.inventory import Listing
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Absent, Reading, Unreadable, Value, convert
from closeout.model.sound import SoundDevice
from closeout.readers.attributes import list_class, read_bytes, read_text
from closeout.readers.places import is_made_of_software, label_of, locate, read_position
from closeout.readers.reader import Reader
from closeout.readers.sound_lists import read_streams

CLASS: Final = "sys/class/sound"
DEVICE: Final = late_pattern(r"pcmC(\d+)D(\d+)([pc])")
DIRECTIONS: Final = {"p": "playback", "c": "capture"}


def find_devices(tree: KernelTree) -> Listing:
    """The places of all devices with hardware behind them."""
    listing = list_class(tree, CLASS)
    if not isinstance(listing, Value):
        return listing
    names = (name for name in listing.value if DEVICE.fullmatch(name))
    places = (locate(tree, f"{CLASS}/{name}") for name in names)
    hard = tuple(place for place in places if not is_made_of_software(tree, place))
    return Value(value=hard, sources=listing.sources)


def read_device(tree: KernelTree, place: str) -> SoundDevice:
    """One device in one direction."""
    card, device, way = _parts_of(place)
    stream = _find_stream(tree, card, device)
    identifier = convert(stream, lambda told: told.identifier)
    direction = DIRECTIONS[way]
    return SoundDevice(
        place=place,
        label=label_of(place),
        position=read_position(tree, place),
        card_id=read_text(tree, f"{place.rpartition('/')[0]}/id"),
        direction=Value(value=direction, sources=(place,)),
        identifier=identifier,
        purpose=convert(identifier, purpose_of),
        streams=convert(stream, lambda told: told.playback if way == "p" else told.capture),
        busy=_read_busy(tree, f"proc/asound/card{card}/pcm{device}{way}/info"),
    )


def _parts_of(place: str) -> tuple[int, int, str]:
    found = DEVICE.fullmatch(label_of(place))
    return (int(found[1]), int(found[2]), found[3]) if found else (-1, -1, "p")


def _find_stream(tree: KernelTree, card: int, device: int) -> Reading[Stream]:
    streams = read_streams(tree, card)
    if not isinstance(streams, Value):
        return streams
    for stream in streams.value:
        if stream.device == device:
            return Value(value=stream, sources=streams.sources)
    return Absent(reason="the list of sound devices has no such one", sources=streams.sources)


def _read_busy(tree: KernelTree, path: str) -> Reading[bool]:
    """Fewer streams are free than there are."""
    told = convert(read_bytes(tree, path), decode_stream_state)
    if not isinstance(told, Value):
        return told
    there = parse_whole(told.value.get("subdevices_count", ""))
    free = parse_whole(told.value.get("subdevices_avail", ""))
    if there is None or free is None:
        advice = "the counts of subdevices were expected and are not there"
        return Unreadable(error="MALFORMED", advice=advice, sources=told.sources)
    return Value(value=free < there, sources=told.sources)


READERS: Final = (Reader(kind="sound_device", find=find_devices, read=read_device),)
