"""An inventory in words: every reading with its state, kept apart to the last line."""

from __future__ import annotations

from typing import Final, NamedTuple, assert_never

from closeout.model.amounts import show_value
from closeout.model.attribute import Attribute, attributes_of
from closeout.model.frozen import frozen
from closeout.model.inventory import Inventory, Section
from closeout.model.reading import Absent, Blank, Filler, Reading, Unreadable, Value, state_of

UNIT_LINES: Final = (
    ("Maker", "system", "manufacturer"),
    ("Product", "system", "product"),
    ("Serial", "system", "serial"),
    ("UUID", "system", "uuid"),
    ("Board serial", "board", "serial"),
    ("Firmware", "bios", "version"),
    ("Charge", "battery", "capacity_percent"),
    ("Charging", "battery", "status"),
)


class Line(NamedTuple):
    """One reading in words: name in the record, what it means, state, and value or reason."""

    name: str
    meaning: str
    state: str
    text: str


@frozen
class Gap:
    """A question without an answer: whose it is, which, and what to do about it."""

    kind: str
    label: str
    name: str
    reading: Unreadable


def describe_unit(inventory: Inventory) -> tuple[tuple[str, Line], ...]:
    """The lines that name the unit; what is not there or not readable says so."""
    lines: list[tuple[str, Line]] = []
    for title, kind, name in UNIT_LINES:
        section = inventory.section(kind)
        if section.devices:
            device = section.devices[0]
            attribute = attributes_of(type(device))[name]
            lines.append((title, _describe(name, attribute, getattr(device, name))))
        elif not isinstance(section.listing, Value):
            text = describe_listing(section)
            state = state_of(section.listing)
            lines.append((title, Line(name=name, meaning=title, state=state, text=text)))
    return tuple(lines)


def describe_device(section: Section, index: int) -> tuple[Line, ...]:
    """Every attribute of one device of a section."""
    device = section.devices[index]
    return tuple(
        _describe(name, attribute, getattr(device, name))
        for name, attribute in attributes_of(type(device)).items()
    )


def _describe(name: str, attribute: Attribute, reading: Reading[object]) -> Line:
    text = describe_reading(reading, attribute)
    return Line(name=name, meaning=attribute.meaning, state=state_of(reading), text=text)


def describe_reading(reading: Reading[object], attribute: Attribute) -> str:
    """The value, or why there is none; the state stands beside it."""
    match reading:
        case Value(value=value):
            return show_value(value, attribute.unit)
        case Filler(text=text, reason=reason):
            return f"{text} ({reason})"
        case Blank(reason=reason) | Absent(reason=reason):
            return reason
        case Unreadable(error=error, advice=advice):
            return f"{error}: {advice}"
        case _:
            assert_never(reading)


def describe_listing(section: Section) -> str:
    """How far a kind could be listed; empty where devices follow."""
    match section.listing:
        case Value():
            return "" if section.devices else "none"
        case Absent(reason=reason):
            return f"could not be listed: {reason}"
        case Unreadable(error=error, advice=advice):
            return f"could not be listed ({error}): {advice}"
        case _:
            assert_never(section.listing)


def find_gaps(inventory: Inventory) -> tuple[Gap, ...]:
    """Everything that could not be read, kinds that could not be listed among it."""
    gaps: list[Gap] = []
    for section in inventory.sections:
        if isinstance(section.listing, Unreadable):
            gaps.append(Gap(kind=section.kind, label="", name="", reading=section.listing))
        for device in section.devices:
            for name in attributes_of(type(device)):
                reading = getattr(device, name)
                if isinstance(reading, Unreadable):
                    gaps.append(
                        Gap(kind=section.kind, label=device.label, name=name, reading=reading)
                    )
    return tuple(gaps)
