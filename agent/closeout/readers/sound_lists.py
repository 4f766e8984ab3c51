"""What `proc/asound` tells of all cards and devices together, for the readers of each."""

from __future__ import annotations

from typing import Final

from closeout.decode.sound_lists import NamedCard, Stream, decode_cards, decode_streams
from closeout.kernel.tree import KernelTree
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Absent, Reading, Value, convert
from closeout.readers.attributes import read_bytes
from closeout.readers.decoded import decoded
from closeout.readers.places import label_of

CARDS: Final = "proc/asound/cards"
STREAMS: Final = "proc/asound/pcm"
NUMBER: Final = late_pattern(r"card(\d+)")


def number_of(place: str) -> int:
    """The number of the card at a place; -1 where its name is no card's, which no list has."""
    found = NUMBER.fullmatch(label_of(place))
    return int(found[1]) if found else -1


def read_named_card(tree: KernelTree, number: int) -> Reading[NamedCard]:
    """The card's entry in the list of cards."""
    cards = decoded(read_bytes(tree, CARDS), decode_cards)
    if not isinstance(cards, Value):
        return cards
    for card in cards.value:
        if card.number == number:
            return Value(value=card, sources=cards.sources)
    return Absent(reason="the list of sound cards has no such one", sources=cards.sources)


def read_streams(tree: KernelTree, number: int) -> Reading[tuple[Stream, ...]]:
    """The devices of the card that has this number."""
    streams = decoded(read_bytes(tree, STREAMS), decode_streams)
    return convert(
        streams, lambda found: tuple(stream for stream in found if stream.card == number)
    )
