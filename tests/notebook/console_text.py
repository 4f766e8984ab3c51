"""The words of `closeout show` read back, and held against `closeout show --json`.

Made for lines that are not wrapped: a section has its heading after an empty line, a device stands
under it with two spaces before, a reading under the device with four.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

DEVICE: Final = re.compile(r"(?P<label>.*) \((?P<position>\w+), (?P<place>.*)\)")
AMOUNT: Final = re.compile(
    r"(?P<read>\d+(?:\.\d\d)?)(?: (?P<unit>\S+))?(?: \((?P<exact>\d+) \S+\))?"
)
UNITS: Final = {
    "KiB": 1 << 10,
    "MiB": 1 << 20,
    "GiB": 1 << 30,
    "Wh": 1_000_000,
    "Ah": 1_000_000,
    "V": 1_000_000,
    "Hz": 1_000,
    "°C": 1_000,
    "m/s²": 1_000,
    "lx": 1_000,
    "°": 1_000,
}
"""How many of the unit in the JSON make one of these; any other unit is the same on both sides."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedDevice:
    """A device as printed: the line that names it, and the text of each reading."""

    label: str
    position: str
    place: str
    readings: Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedSection:
    """A heading and the devices under it."""

    heading: str
    devices: tuple[PrintedDevice, ...]


def read_console(text: str) -> tuple[PrintedSection, ...]:
    """The sections in the order in which they are printed."""
    blocks = text.strip("\n").split("\n\n")
    return tuple(_section(block.split("\n")) for block in blocks)


CUT: Final = re.compile(r"(?P<text>.*) \[only (?P<shown>\d+) of (?P<whole>\d+) characters shown\]")


def console_disagreements(text: str, inventory: Mapping[str, Any]) -> list[str]:
    """Where the words say otherwise than the JSON, a line each."""
    sections = read_console(text)
    if len(sections) != len(inventory):
        return [f"{len(sections)} sections are printed, {len(inventory)} are in the JSON"]
    return [
        line
        for printed, (kind, section) in zip(sections, inventory.items(), strict=True)
        for line in _section_disagreements(kind, printed, section)
    ]


def _section(lines: list[str]) -> PrintedSection:
    devices: list[PrintedDevice] = []
    readings: dict[str, str] = {}
    name = ""
    for line in lines[1:]:
        if line.startswith("     "):
            readings[name] += f" {line.strip()}"
        elif line.startswith("    "):
            name, _, told = line.removeprefix("    ").partition(": ")
            readings[name] = told
        else:
            named = DEVICE.fullmatch(line.removeprefix("  "))
            assert named, line
            readings = {}
            devices.append(PrintedDevice(**named.groupdict(), readings=readings))
    return PrintedSection(heading=lines[0], devices=tuple(devices))


def _section_disagreements(
    kind: str, printed: PrintedSection, section: Mapping[str, Any]
) -> Iterator[str]:
    named = [(device.label, device.position, device.place) for device in printed.devices]
    wanted = [
        (device["label"], device["position"], device["place"]) for device in section["devices"]
    ]
    if named != wanted:
        yield f"{kind}: {named} are printed, {wanted} are in the JSON"
        return
    for device, told in zip(printed.devices, section["devices"], strict=True):
        if list(device.readings) != list(told["attributes"]):
            yield f"{kind} {device.label}: other readings are printed: {list(device.readings)}"
            continue
        for name, reading in told["attributes"].items():
            if not _says(device.readings[name], reading):
                yield f"{kind} {device.label}: {name}: printed {device.readings[name]!r}, {reading}"


def _says(printed: str, reading: Mapping[str, Any]) -> bool:
    """Whether the text tells the state, and the value where there is one."""
    if reading["state"] != "value":
        words = [reading[key] for key in ("text", "error", "reason", "advice") if key in reading]
        lead = f"{reading['state']} - "
        return printed.startswith(lead) and all(word in printed for word in words)
    match reading["value"]:
        case bool(flag):
            return printed == ("yes" if flag else "no")
        case int(number):
            return _is_amount(printed, number, reading.get("unit", ""))
        case list(texts):
            return _is_text(printed, ", ".join(texts) or "none")
        case text:
            return _is_text(printed, text)


def _is_text(printed: str, text: str) -> bool:
    """Whether it is the text; of a very long one its beginning, and how much of it that is."""
    if not (cut := CUT.fullmatch(printed)):
        return printed == text
    shown, whole = int(cut["shown"]), int(cut["whole"])
    return (cut["text"], len(cut["text"]), len(text)) == (text[:shown], shown, whole)


def _is_amount(printed: str, number: int, unit: str) -> bool:
    """Whether `12.14 V (12140000 µV)` is the number; what is cut shows its exact figure."""
    amount = AMOUNT.fullmatch(printed)
    if not amount:
        return False
    larger = amount["unit"] or ""
    if larger == unit:
        return int(amount["read"]) == number
    cut = int(float(amount["read"]) * 100 + 0.5)
    is_near = cut == number * 100 // UNITS[larger]
    is_exact = amount["exact"] is None and number % UNITS[larger] == 0
    return is_near and (is_exact or amount["exact"] == str(number))
