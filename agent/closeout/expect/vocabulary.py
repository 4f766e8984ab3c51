"""The closed lists of profile and work order: keys, classes, repairs, and what each allows."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from closeout.model.expectation import (
    Empty,
    Equals,
    Filled,
    MatchesOrder,
    NewerOrEqual,
    OneOf,
    Pattern,
    Within,
)

PROFILE_FORMAT: Final = 1
WORK_ORDER_FORMAT: Final = 1

ID_PART: Final = r"[a-z0-9]+(?:-[a-z0-9]+)*"
ID_PATTERN: Final = rf"{ID_PART}(?:/{ID_PART}){{0,2}}"
ID_RULE: Final = "lower case letters, digits and single hyphens, at most three parts set apart by /"
ORDER_PATTERN: Final = r"[A-Za-z0-9](?:[A-Za-z0-9_-]|\.(?=[A-Za-z0-9_-])){0,63}"
ORDER_RULE: Final = "at most 64 letters, digits, hyphens, underscores and single dots inside"
CONNECTION_PATTERN: Final = ID_PART
CONNECTION_RULE: Final = "lower case letters, digits and single hyphens"
OPTION_PATTERN: Final = ID_PART
OPTION_RULE: Final = CONNECTION_RULE
LONGEST_CHAIN: Final = 4
"""Maker, family, model, and one that a depot derives from it."""

LAYOUTS: Final = (
    *("al", "be", "bg", "br", "ca", "ch", "cz", "de", "dk", "ee", "es", "fi", "fr", "gb", "gr"),
    *("hr", "hu", "ie", "il", "in", "is", "it", "jp", "kr", "latam", "lt", "lv", "mk", "nl", "no"),
    *("pl", "pt", "ro", "rs", "ru", "se", "si", "sk", "tr", "tw", "ua", "us"),
)
"""Keyboard layouts, by the ISO 3166 code of the country they are made for; `latam` is Latin
America's."""

NO_ORDER: Final = "no-order"
"""Folder of reports without an order, so no order can be called that."""

LONGEST_TEXT: Final = 200
LONGEST_TELLING: Final = 300
"""Characters of what the repair map, or a model in its place, says of a connection."""
MOST_DEMANDS: Final = 500
MOST_PARTS: Final = 100
MOST_VALUES: Final = 50

OCCUPANCY: Final = frozenset({"present", "fitted", "connected"})
"""Attributes that say whether anything is there. An empty bay takes no part in any demand, so
nothing can be demanded of these: presence is."""

VALUE_DEMANDS: Final[Mapping[str, type]] = {
    "filled": Filled,
    "equals": Equals,
    "one_of": OneOf,
    "pattern": Pattern,
    "at_least": Within,
    "at_most": Within,
    "within": Within,
    "matches_order": MatchesOrder,
    "newer_or_equal": NewerOrEqual,
    "empty": Empty,
}
"""Keys that demand something of an attribute; `at_least` and `at_most` may stand together."""

PRESENCE_DEMANDS: Final = ("present", "devices_at_least", "devices_at_most")
"""Keys that demand devices; the last two may stand together."""

PAIRED_DEMANDS: Final = (
    frozenset({"at_least", "at_most"}),
    frozenset({"devices_at_least", "devices_at_most"}),
)

UNIT_FIELDS: Final[Mapping[str, tuple[str, str]]] = {
    "manufacturer": ("system", "manufacturer"),
    "product": ("system", "product"),
    "version": ("system", "version"),
    "serial": ("system", "serial"),
    "uuid": ("system", "uuid"),
    "sku": ("system", "sku"),
    "family": ("system", "family"),
    "asset_tag": ("chassis", "asset_tag"),
    "chassis_serial": ("chassis", "serial"),
    "board_serial": ("board", "serial"),
    "board_product": ("board", "product"),
}
"""What `[unit]` of a work order may give, and the attribute that must have it."""

REPAIRS: Final = (
    "system-board",
    "display-assembly",
    "panel",
    "battery",
    "keyboard-top-cover",
    "touchpad",
    "drive",
    "memory",
    "wireless-module",
    "fan-heat-sink",
    "power-connector",
    "speakers",
    "camera-microphone",
    "fingerprint-reader",
    "clock-cell",
    "daughter-board",
)

FITTED_CLASSES: Final = (
    "battery",
    "adapter",
    "drive",
    "memory_module",
    "display",
    "wifi",
    "bluetooth",
    "wwan",
    "wired_network",
    "keyboard",
    "touchpad",
    "touchscreen",
    "nfc",
    "camera",
    "smart_card_reader",
    "usb_device",
    "pci_device",
)
"""Parts that a person fits or takes out. A system board is told by `[unit]`."""

NOT_PRESENT_CLASSES: Final = FITTED_CLASSES[:-2]
"""What a unit may come without: any of these but nameless bus devices."""

BUS_CLASSES: Final = ("pci_device", "usb_device", "bus_device")
"""What a bus shows; every other class is made of these by a driver."""

BUS_ID_PATTERN: Final = r"[A-Za-z0-9_-]{1,31}(?::[0-9A-Fa-f]{4})?"

OUTSIDE_BY_NATURE: Final = frozenset({"adapter", "peripheral_battery"})
"""Classes whose devices are never inside the unit, so external ones count for them."""

LICENCES: Final = ("expected", "none")
FITTED_BATTERY_HEALTH: Final = 95
SOUND_KEY_FORM: Final = "well-formed"
