"""Codecs on HD Audio and SoundWire buses: who they are, and what the firmware wires to them.

Kernel paths: `sys/bus/hdaudio/devices/hdaudioCxDy` (sound/pci/hda/hda_codec.c) or, behind a sound
processor, `ehdaudiozDy` (sound/soc/sof/intel/hda-codec.c), with the text in
`proc/asound/cardx/codec#y`; `sys/bus/soundwire/devices/sdw:…`
(Documentation/ABI/testing/sysfs-bus-soundwire-slave). Codecs on an I2C bus look like any other
device there and are not told.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Final

from closeout.decode.hda_codec import HdaCodec, decode_codec, split_id
from closeout.decode.hda_pin import HdaPin
from closeout.kernel.tree import KernelTree
from closeout.model.inventory import Listing
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Absent, Reading, Value, convert
from closeout.model.sound import SoundCodec
from closeout.readers.attributes import (
    list_class,
    list_folder,
    read_bytes,
    read_text,
    understand,
)
from closeout.readers.decoded import decoded
from closeout.readers.places import label_of, locate, read_position
from closeout.readers.reader import Reader

HDA_BUS: Final = "sys/bus/hdaudio"
SOUNDWIRE_BUS: Final = "sys/bus/soundwire"
HDA: Final = late_pattern(r"(?:hdaudioC(\d+)|ehdaudio\d+)D(\d+)")
SOUND: Final = "sys/class/sound"
CARD: Final = late_pattern(r"card(\d+)")
SOUNDWIRE: Final = late_pattern(r"sdw:[0-9a-f:]+")
MODALIAS: Final = late_pattern(r"sdw:m([0-9A-F]{4})p([0-9A-F]{4})(?:v[0-9A-F]{2}c[0-9A-F]{2})?")
STATES: Final = {"UNATTACHED": False, "Attached": True, "Alert": True}
"""What `status` says (drivers/soundwire/sysfs_slave.c); a codec that alerts wants attention."""


def find_codecs(tree: KernelTree) -> Listing:
    """The places of all codecs on both buses."""
    hda = _on_bus(tree, HDA_BUS, HDA)
    if not isinstance(hda, Value):
        return hda
    soundwire = _on_bus(tree, SOUNDWIRE_BUS, SOUNDWIRE)
    if not isinstance(soundwire, Value):
        return soundwire
    sources = hda.sources + soundwire.sources
    return Value(value=hda.value + soundwire.value, sources=sources)


def read_codec(tree: KernelTree, place: str) -> SoundCodec:
    """One codec."""
    found = HDA.fullmatch(label_of(place))
    if found is None:
        return _read_soundwire(tree, place)
    card = Value(value=found[1], sources=(place,)) if found[1] else _card_beside(tree, place)
    codec = _read_text(tree, card, found[2])
    return SoundCodec(
        place=place,
        label=label_of(place),
        position=read_position(tree, place),
        bus=Value(value="hda", sources=(place,)),
        name=convert(codec, lambda told: told.name),
        ids=convert(codec, lambda told: split_id(told.vendor_id)),
        subsystem_ids=convert(codec, lambda told: split_id(told.subsystem_id)),
        revision=convert(codec, lambda told: told.revision_id),
        answers=convert(codec, lambda _: True),
        speakers=convert(codec, lambda told: _count_inside(told, "speaker")),
        microphones=convert(codec, lambda told: _count_inside(told, "microphone")),
        jacks=convert(codec, lambda told: _jacks(told.pins)),
        display_outputs=convert(codec, lambda told: sum(_is_display(one) for one in told.pins)),
    )


def _card_beside(tree: KernelTree, place: str) -> Reading[str]:
    """The number of the card that belongs to the same controller as the codec."""
    controller = place.rpartition("/")[0]
    listing = list_class(tree, SOUND)
    if not isinstance(listing, Value):
        return listing
    for name in listing.value:
        card = CARD.fullmatch(name)
        if card and locate(tree, f"{SOUND}/{name}").startswith(f"{controller}/"):
            return Value(value=card[1], sources=listing.sources)
    return Absent(reason="no sound card belongs to its controller", sources=listing.sources)


def _read_text(tree: KernelTree, card: Reading[str], address: str) -> Reading[HdaCodec]:
    if not isinstance(card, Value):
        return card
    path = f"proc/asound/card{card.value}/codec#{address}"
    return decoded(read_bytes(tree, path), decode_codec)


def _on_bus(tree: KernelTree, bus: str, name: re.Pattern[str]) -> Listing:
    there = list_class(tree, bus)
    if not (isinstance(there, Value) and there.value):
        return there
    listing = list_folder(tree, f"{bus}/devices")
    if not isinstance(listing, Value):
        return listing
    names = (one for one in listing.value if name.fullmatch(one))
    places = tuple(locate(tree, f"{bus}/devices/{one}") for one in names)
    return Value(value=places, sources=listing.sources)


def _read_soundwire(tree: KernelTree, place: str) -> SoundCodec:
    untold = Absent(reason="a SoundWire codec does not tell this", sources=(place,))
    status = read_text(tree, f"{place}/status")
    modalias = read_text(tree, f"{place}/modalias")
    return SoundCodec(
        place=place,
        label=label_of(place),
        position=read_position(tree, place),
        bus=Value(value="soundwire", sources=(place,)),
        name=untold,
        ids=understand(modalias, "a SoundWire alias", _ids_of),
        subsystem_ids=untold,
        revision=untold,
        answers=understand(status, "a SoundWire status", STATES.get),
        speakers=untold,
        microphones=untold,
        jacks=untold,
        display_outputs=untold,
    )


def _ids_of(alias: str) -> str | None:
    found = MODALIAS.fullmatch(alias)
    return f"{found[1]}:{found[2]}".lower() if found else None


def _count_inside(codec: HdaCodec, device: str) -> int:
    """Built-in ones. A speaker's pin counts wherever it is said to be: it is no socket.

    So the kernel sorts pins too (sound/pci/hda/hda_auto_parser.c).
    """
    pins = (pin for pin in codec.pins if pin.connected and pin.device == device)
    return sum(1 for pin in pins if pin.inside or device == "speaker")


def _jacks(pins: Sequence[HdaPin]) -> tuple[str, ...]:
    return tuple(_jack_words(pin for pin in pins if pin.connected and not _is_display(pin)))


def _jack_words(pins: Iterable[HdaPin]) -> Iterable[str]:
    for pin in pins:
        if not pin.inside and pin.device != "speaker":
            yield pin.device


def _is_display(pin: HdaPin) -> bool:
    return pin.connected and pin.display


READERS: Final = (Reader(kind="sound_codec", find=find_codecs, read=read_codec),)
