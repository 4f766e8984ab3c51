"""The inventory in JSON: kind -> listing and devices -> attributes with state and sources."""

from __future__ import annotations

from typing import assert_never

from closeout.model.attribute import attributes_of
from closeout.model.device import Device
from closeout.model.inventory import Inventory, Listing, Section
from closeout.model.reading import Absent, Blank, Filler, Reading, Unreadable, Value, state_of


def tree_of_inventory(inventory: Inventory) -> dict[str, object]:
    """Kind to section, in the inventory's order."""
    return {section.kind: _tree_of_section(section) for section in inventory.sections}


def _tree_of_section(section: Section) -> dict[str, object]:
    return {
        "listing": _tree_of_listing(section.listing),
        "devices": [_tree_of_device(device) for device in section.devices],
    }


def _tree_of_listing(listing: Listing) -> dict[str, object]:
    if isinstance(listing, Value):
        places = list(listing.value)
        return {"state": "value", "places": places, "sources": list(listing.sources)}
    return _tree_of_reading(listing, "")


def _tree_of_device(device: Device) -> dict[str, object]:
    return {
        "place": device.place,
        "label": device.label,
        "position": device.position.value,
        "attributes": {
            name: _tree_of_reading(getattr(device, name), attribute.unit)
            for name, attribute in attributes_of(type(device)).items()
        },
    }


def _tree_of_reading(reading: Reading[object], unit: str) -> dict[str, object]:
    tree: dict[str, object] = {"state": state_of(reading)}
    match reading:
        case Value(value=value):
            tree["value"] = value
            if unit:
                tree["unit"] = unit
        case Filler(text=text, reason=reason):
            tree |= {"text": text, "reason": reason}
        case Blank(reason=reason) | Absent(reason=reason):
            tree["reason"] = reason
        case Unreadable(error=error, advice=advice):
            tree |= {"error": error, "advice": advice}
        case _:
            assert_never(reading)
    tree["sources"] = list(reading.sources)
    return tree
