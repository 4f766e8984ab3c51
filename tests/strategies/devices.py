"""Devices for tests: every attribute absent but those that are named."""

from closeout.model.attribute import attributes_of
from closeout.model.device import Device, Position
from closeout.model.inventory import KINDS, Inventory, Section
from closeout.model.reading import Absent, Blank, Filler, Reading, Unreadable, Value

NOT_DRAWN = Absent(reason="not drawn", sources=("nowhere",))


def value(content: object, *sources: str) -> Value[object]:
    """A reading that holds `content`."""
    return Value(value=content, sources=sources or ("drawn",))


BLANK = Blank(reason="the file holds no text", sources=("drawn",))
FILLER = Filler(text="Default string", reason="a factory word", sources=("drawn",))
DENIED = Unreadable(error="EACCES", advice="run as root", sources=("drawn",))


def device(
    kind: str,
    place: str = "",
    position: Position = Position.INTERNAL,
    **attributes: object,
) -> Device:
    """A device of a kind; a plain attribute becomes a value, a reading stays what it is."""
    record = KINDS[kind]
    readings: dict[str, Reading[object]] = dict.fromkeys(attributes_of(record), NOT_DRAWN)
    for name, content in attributes.items():
        assert name in readings, f"{kind} has no {name}"
        is_reading = isinstance(content, Value | Blank | Filler | Absent | Unreadable)
        readings[name] = content if is_reading else value(content)
    seat = place or f"{kind}-0"
    return record(place=seat, label=seat.rsplit("/", 1)[-1], position=position, **readings)


def inventory(*devices: Device, **listings: Absent | Unreadable) -> Inventory:
    """An inventory of these devices; kinds without any are listed empty, or as `listings` say."""
    sections = []
    for kind, record in KINDS.items():
        mine = tuple(device for device in devices if type(device) is record)
        listing = Value(value=tuple(device.place for device in mine), sources=(f"list/{kind}",))
        sections.append(Section(kind=kind, listing=listings.get(kind, listing), devices=mine))
    return Inventory(sections=tuple(sections))
