"""Sound: cards, the codecs on their buses, and the devices that play and capture."""

from __future__ import annotations

from closeout.model.attribute import Shape, about
from closeout.model.device import Device
from closeout.model.frozen import field, frozen
from closeout.model.reading import Reading


@frozen
class SoundCard(Device):
    """One card as the kernel counts them; its number may be another one at the next start."""

    card_id: Reading[str] = field(metadata=about("the card's id, which the driver chose"))
    driver: Reading[str] = field(metadata=about("kernel driver"))
    name: Reading[str] = field(metadata=about("short name of the card"))
    long_name: Reading[str] = field(metadata=about("long name of the card, with where it is"))
    serves: Reading[tuple[str, ...]] = field(
        metadata=about(
            "what its devices are for: playback, capture, digital microphone, display (sound of"
            " a screen's socket)",
            Shape.TEXTS,
        )
    )
    playback_devices: Reading[int] = field(
        metadata=about("devices that play, those of a screen's socket left out", Shape.INTEGER)
    )
    capture_devices: Reading[int] = field(
        metadata=about("devices that capture, digital microphones included", Shape.INTEGER)
    )
    jacks: Reading[tuple[str, ...]] = field(
        metadata=about("jacks that tell whether a plug is in, a screen's left out", Shape.TEXTS)
    )
    plugged: Reading[tuple[str, ...]] = field(
        metadata=about("those jacks that report a plug", Shape.TEXTS)
    )


@frozen
class SoundCodec(Device):
    """One codec on an HD Audio or SoundWire bus."""

    bus: Reading[str] = field(metadata=about("bus: hda or soundwire"))
    name: Reading[str] = field(metadata=about("name by its driver"))
    ids: Reading[str] = field(metadata=about("vendor:part, four hex digits each"))
    subsystem_ids: Reading[str] = field(metadata=about("subsystem ids, set by the maker"))
    revision: Reading[str] = field(metadata=about("revision id, eight hex digits"))
    answers: Reading[bool] = field(metadata=about("it answers on its bus", Shape.FLAG))
    speakers: Reading[int] = field(
        metadata=about("pins that the firmware wires to built-in speakers", Shape.INTEGER)
    )
    microphones: Reading[int] = field(
        metadata=about("pins that the firmware wires to built-in microphones", Shape.INTEGER)
    )
    jacks: Reading[tuple[str, ...]] = field(
        metadata=about("jacks by what the firmware says that they are for", Shape.TEXTS)
    )
    display_outputs: Reading[int] = field(
        metadata=about("pins that lead to HDMI or DisplayPort", Shape.INTEGER)
    )


@frozen
class SoundDevice(Device):
    """One device of a card in one direction."""

    card_id: Reading[str] = field(metadata=about("id of its card"))
    direction: Reading[str] = field(metadata=about("playback or capture"))
    identifier: Reading[str] = field(metadata=about("what its driver calls it"))
    purpose: Reading[str] = field(metadata=about("general, display or digital microphone"))
    streams: Reading[int] = field(metadata=about("how many may use it at once", Shape.INTEGER))
    busy: Reading[bool] = field(metadata=about("a program has it open", Shape.FLAG))
