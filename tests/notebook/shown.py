"""What `closeout show --json` shows, as plain values to hold beside what tools say.

A reading without a value keeps its state: nothing to tell is None, a blank field is "", and one
that gave no answer is `Unread`. A factory placeholder is its text.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

EVERY: Final = "every device"
"""The label of a claim that is about all devices of a kind together."""


@dataclass(frozen=True, slots=True)
class Unread:
    """A reading that gave no answer, with its errno."""

    error: str


@dataclass(frozen=True, slots=True)
class Missing:
    """No such device or attribute is shown."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """What a tool says of one attribute of one device, beside what is shown."""

    tool: str
    kind: str
    label: str
    attribute: str
    told: object
    shown: object

    @property
    def agrees(self) -> bool:
        """The same value of the same type."""
        return type(self.told) is type(self.shown) and self.told == self.shown

    def as_line(self) -> str:
        """The disagreement in a line."""
        where = f"{self.kind} {self.label}: {self.attribute}"
        return f"{where}: {self.tool} says {self.told!r}, shown is {self.shown!r}"


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownDevice:
    """One device; no `values` where none of this label is shown."""

    kind: str
    place: str
    label: str
    values: Mapping[str, object]

    def claims(self, tool: str, told: Mapping[str, object]) -> Iterator[Claim]:
        """What the tool says of attributes of this device."""
        for attribute, value in told.items():
            yield Claim(
                tool=tool,
                kind=self.kind,
                label=self.label,
                attribute=attribute,
                told=value,
                shown=self.values.get(attribute, Missing()),
            )


class Shown:
    """An inventory by kind and label."""

    def __init__(self, inventory: Mapping[str, Any]) -> None:
        self._inventory = inventory

    def devices(self, kind: str) -> tuple[ShownDevice, ...]:
        """The devices of a kind, in order."""
        return tuple(
            ShownDevice(
                kind=kind,
                place=device["place"],
                label=device["label"],
                values={name: _value(told) for name, told in device["attributes"].items()},
            )
            for device in self._inventory[kind]["devices"]
        )

    def device(self, kind: str, label: str) -> ShownDevice:
        """The device that people call so."""
        for device in self.devices(kind):
            if device.label == label:
                return device
        return ShownDevice(kind=kind, place="", label=label, values={})

    def only(self, kind: str) -> ShownDevice:
        """The device of a kind that every unit has one of."""
        devices = self.devices(kind)
        if len(devices) == 1:
            return devices[0]
        return ShownDevice(kind=kind, place="", label="the only one", values={})

    def at(self, kind: str, index: int) -> ShownDevice:
        """The device at that place of the list."""
        devices = self.devices(kind)
        if index < len(devices):
            return devices[index]
        return ShownDevice(kind=kind, place="", label=f"number {index}", values={})

    def which(self, tool: str, kind: str, labels: Iterable[str]) -> Claim:
        """The claim that these are all devices of a kind."""
        shown = tuple(sorted(device.label for device in self.devices(kind)))
        return self._about_all(tool, kind, "which there are", tuple(sorted(labels)), shown)

    def how_many(self, tool: str, kind: str, count: int) -> Claim:
        """The claim that there are so many devices of a kind."""
        return self._about_all(tool, kind, "how many", count, len(self.devices(kind)))

    def _about_all(
        self, tool: str, kind: str, attribute: str, told: object, shown: object
    ) -> Claim:
        listing = self._inventory[kind]["listing"]
        return Claim(
            tool=tool,
            kind=kind,
            label=EVERY,
            attribute=attribute,
            told=told,
            shown=shown if listing["state"] == "value" else _value(listing),
        )


def _value(reading: Mapping[str, Any]) -> object:
    match reading["state"]:
        case "value":
            value = reading["value"]
            return tuple(value) if isinstance(value, list) else value
        case "filler":
            return reading["text"]
        case "blank":
            return ""
        case "absent":
            return None
        case _:
            return Unread(reading["error"])
