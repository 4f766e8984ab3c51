"""The inventory out of a `report.json`."""

from __future__ import annotations

from typing import Any, Final

from closeout.model.attribute import Attribute, Shape, attributes_of
from closeout.model.device import Device, Position
from closeout.model.inventory import KINDS, Inventory, Listing, Section
from closeout.model.reading import Absent, Blank, Filler, Reading, Unreadable, Value
from closeout.report.fields import Fields

OLDER: Final = Unreadable(
    error="NOT_READ",
    advice="this report does not have it; check again with this version",
    sources=(),
)
"""What an attribute is in a report that is older than the attribute."""

TYPES_BY_SHAPE: Final[dict[Shape, type]] = {
    Shape.TEXT: str,
    Shape.INTEGER: int,
    Shape.FLAG: bool,
    Shape.VERSION: str,
    Shape.TEXTS: tuple,
}


def load_inventory(sections: Fields) -> Inventory:
    """The inventory out of its tree; kinds that this version does not know are left out."""
    return Inventory(
        sections=tuple(
            _load_section(kind, sections.fields(kind)) for kind in sections.content if kind in KINDS
        )
    )


def _load_section(kind: str, section: Fields) -> Section:
    return Section(
        kind=kind,
        listing=_load_listing(section.fields("listing")),
        devices=tuple(_load_device(KINDS[kind], device) for device in section.each("devices")),
    )


def _load_listing(listing: Fields) -> Listing:
    if listing.text("state") == "value":
        return Value(value=listing.texts("places"), sources=listing.texts("sources"))
    reading = _load_no_value(listing)
    if isinstance(reading, Absent | Unreadable):
        return reading
    raise listing.complaint("state", "one of value, absent, unreadable was expected")


def _load_device(kind: type[Device], device: Fields) -> Device:
    attributes = device.fields("attributes")
    content: dict[str, Any] = {
        name: _load_reading(attributes.fields(name), attribute)
        if name in attributes.content
        else OLDER
        for name, attribute in attributes_of(kind).items()
    }
    content["place"] = device.text("place")
    content["label"] = device.text("label")
    content["position"] = device.choice("position", Position)
    return kind(**content)


def _load_reading(reading: Fields, attribute: Attribute) -> Reading[object]:
    if reading.text("state") != "value":
        return _load_no_value(reading)
    found = reading.content.get("value")
    value = reading.texts("value") if isinstance(found, list) else found
    wanted = TYPES_BY_SHAPE[attribute.shape]
    masked = attribute.personal and isinstance(value, str)
    if type(value) is not wanted and not masked:
        raise reading.complaint("value", f"a value of shape {attribute.shape.value} was expected")
    return Value(value=value, sources=reading.texts("sources"))


def _load_no_value(reading: Fields) -> Blank | Filler | Absent | Unreadable:
    sources = reading.texts("sources")
    match reading.text("state"):
        case "blank":
            return Blank(reason=reading.text("reason"), sources=sources)
        case "filler":
            text, reason = reading.text("text"), reading.text("reason")
            return Filler(text=text, reason=reason, sources=sources)
        case "absent":
            return Absent(reason=reading.text("reason"), sources=sources)
        case "unreadable":
            error, advice = reading.text("error"), reading.text("advice")
            return Unreadable(error=error, advice=advice, sources=sources)
        case _:
            allowed = "value, blank, filler, absent, unreadable"
            raise reading.complaint("state", f"one of {allowed} was expected")
