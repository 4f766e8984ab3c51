"""What tools and the kernel's own words say of sound, beside what is shown."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from notebook.opinions import ToolOutput
from notebook.parsed_switches import names_with_switches
from notebook.parsed_text import labelled, parts_by_device
from notebook.shown import Claim, Shown, ShownDevice

DEVICE: Final = re.compile(
    r"^card (\d+): (\S+) \[(.*?)\], device (\d+): (.*) \[.*\]\n  Subdevices: (\d+)/(\d+)$",
    re.MULTILINE,
)
SCREEN: Final = re.compile("HDMI")
WAYS: Final = {"aplay": ("p", "playback"), "arecord": ("c", "capture")}
PIN: Final = re.compile(r"^  Pin Default 0x\w+: \[(.*?)\] (.*) at (\S+)", re.MULTILINE)
WORDS: Final = {
    "Line Out": "line out",
    "Speaker": "speaker",
    "HP Out": "headphone",
    "Line In": "line in",
    "Mic": "microphone",
}
"""The kernel's words for what a pin is for, and ours."""
PLUGS: Final = frozenset({"HEADPHONE", "MICROPHONE", "LINEOUT", "LINEIN", "JACK_PHYSICAL"})
SCREENS: Final = frozenset({"VIDEOOUT"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """A device as aplay or arecord lists it."""

    card: int
    card_id: str
    card_name: str
    device: int
    identifier: str
    free: int
    there: int


def listed(output: ToolOutput) -> tuple[Listed, ...]:
    """Every device of the list."""
    return tuple(
        Listed(
            card=int(card),
            card_id=card_id,
            card_name=name,
            device=int(device),
            identifier=identifier,
            free=int(free),
            there=int(there),
        )
        for card, card_id, name, device, identifier, free, there in DEVICE.findall(output.text)
    )


def stream_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Every device in its direction, and every card that has one."""
    every = [
        f"pcmC{one.card}D{one.device}{letter}"
        for tool, (letter, _) in WAYS.items()
        for one in listed(outputs[tool])
    ]
    yield shown.which("aplay", "sound_device", every)
    for tool, (letter, direction) in WAYS.items():
        devices = listed(outputs[tool])
        labels = [f"pcmC{one.card}D{one.device}{letter}" for one in devices]
        for label, one in zip(labels, devices, strict=True):
            told: dict[str, object] = {
                "card_id": one.card_id,
                "direction": direction,
                "identifier": one.identifier,
                "purpose": "display" if SCREEN.search(one.identifier) else "general",
                "streams": one.there,
                "busy": one.free < one.there,
            }
            yield from shown.device("sound_device", label).claims(tool, told)


def card_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Every card that plays or captures, and what for."""
    plays, captures = (listed(outputs[tool]) for tool in WAYS)
    cards = {one.card: one for one in (*plays, *captures)}
    yield shown.which("aplay", "sound_card", [f"card{number}" for number in cards])
    for number, card in cards.items():
        playing = [one for one in plays if one.card == number and not SCREEN.search(one.identifier)]
        capturing = [one for one in captures if one.card == number]
        serves = ["playback"] * bool(playing) + ["capture"] * bool(capturing)
        told: dict[str, object] = {
            "card_id": card.card_id,
            "name": card.card_name,
            "playback_devices": len(playing),
            "capture_devices": len(capturing),
            "serves": tuple(serves),
        }
        yield from shown.device("sound_card", f"card{number}").claims("aplay", told)


def sound_driver_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """The driver of the function that each card belongs to."""
    tool = "lspci"
    for record in outputs[tool].text.strip().split("\n\n"):
        told = labelled(record)
        if told["Class"].startswith("Audio device"):
            yield from _card_at(shown, told["Slot"]).claims(tool, {"driver": told["Driver"]})


def jack_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Jacks with a switch, and those whose switch is on."""
    tool = "evtest"
    told: dict[str, object] = {
        "jacks": names_with_switches(outputs[tool], PLUGS, but=SCREENS),
        "plugged": names_with_switches(outputs[tool], PLUGS, but=SCREENS, only_on=True),
    }
    for number in {one.card for one in listed(outputs["aplay"])}:
        yield from shown.device("sound_card", f"card{number}").claims(tool, told)


def codec_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Every codec, with its pins in the kernel's own words."""
    tool = "codec-text"
    parts = parts_by_device(outputs[tool])
    labels = [f"hdaudioC0D{name.removeprefix('codec#')}" for name in parts]
    yield shown.which(tool, "sound_codec", labels)
    for label, text in zip(labels, parts.values(), strict=True):
        yield from shown.device("sound_codec", label).claims(tool, _codec(text))


def codec_attribute_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Ids and names as sysfs has them, which the kernel writes in another place."""
    tool = "codec-attributes"
    for name, text in parts_by_device(outputs[tool]).items():
        fields = {line.split(":")[0].split("/")[-1]: line.split(":")[1] for line in _lines(text)}
        told: dict[str, object] = {
            "name": f"{fields['vendor_name']} {fields['chip_name']}",
            "ids": _split(fields["vendor_id"]),
            "subsystem_ids": _split(fields["subsystem_id"]),
            "revision": fields["revision_id"].removeprefix("0x").zfill(8),
        }
        label = name.replace("hw", "hdaudio")
        yield from shown.device("sound_codec", label).claims(tool, told)


def _card_at(shown: Shown, slot: str) -> ShownDevice:
    """The card of the function in that slot."""
    for card in shown.devices("sound_card"):
        if f"/{slot}/" in card.place:
            return card
    return shown.device("sound_card", f"at {slot}")


def _lines(text: str) -> list[str]:
    return [line for line in text.split("\n") if ":" in line]


def _codec(text: str) -> dict[str, object]:
    pins = [(how, WORDS[what], where) for how, what, where in PIN.findall(text)]
    wired = [pin for pin in pins if pin[0] != "N/A"]
    inside = [what for how, what, where in wired if how != "Jack" or where == "Int"]
    outside = [what for how, what, where in wired if how == "Jack" and where != "Int"]
    capabilities = [line for line in text.split("\n") if "Pincap" in line]
    return {
        "bus": "hda",
        "answers": True,
        "speakers": sum(what == "speaker" for _, what, _ in wired),
        "microphones": inside.count("microphone"),
        "jacks": tuple(what for what in outside if what != "speaker"),
        "display_outputs": sum("HDMI" in line or " DP" in line for line in capabilities),
    }


def _split(number: str) -> str:
    digits = number.removeprefix("0x").zfill(8)
    return f"{digits[:4]}:{digits[4:]}"
