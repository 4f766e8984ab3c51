"""Lights under the keys.

Kernel path: `sys/class/leds/*:kbd_backlight` (Documentation/ABI/testing/sysfs-class-led,
Documentation/leds/leds-class.rst: the function is the last part of the name, a number may
follow).
"""

from __future__ import annotations

from typing import Final

from closeout.kernel.tree import KernelTree
from closeout.model.device import Position
from closeout.model.input import KeyboardLight
from closeout.model.inventory import Listing
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Absent, Reading, Unreadable, Value
from closeout.readers.attributes import list_class, not_understood, read_integer
from closeout.readers.places import label_of, locate, read_position
from closeout.readers.reader import Reader

CLASS: Final = "sys/class/leds"
LIGHT: Final = late_pattern(r"(.*:)?kbd_backlight([-_]\d+)?")
BLUETOOTH: Final = late_pattern(r"/0005:[0-9A-F]{4}:[0-9A-F]{4}\.[0-9A-F]{4}/")
NO_EVENT: Final = "ENODATA"
"""How `brightness_hw_changed` answers until the unit itself has changed the light."""


def find_lights(tree: KernelTree) -> Listing:
    """The places of all lights of keyboards."""
    listing = list_class(tree, CLASS)
    if not isinstance(listing, Value):
        return listing
    names = filter(LIGHT.fullmatch, listing.value)
    places = tuple(locate(tree, f"{CLASS}/{name}") for name in names)
    return Value(value=places, sources=listing.sources)


def read_light(tree: KernelTree, place: str) -> KeyboardLight:
    """One light."""
    brightness = read_integer(tree, f"{place}/brightness")
    highest = read_integer(tree, f"{place}/max_brightness")
    external = bool(BLUETOOTH.search(place))
    return KeyboardLight(
        place=place,
        label=label_of(place),
        position=Position.EXTERNAL if external else read_position(tree, place),
        brightness=brightness,
        max_brightness=highest,
        level_percent=read_percent(brightness, highest),
        changed_by_keys=_read_change(tree, f"{place}/brightness_hw_changed"),
    )


def read_percent(level: Reading[int], highest: Reading[int]) -> Reading[int]:
    """The level as a share of the highest, rounded down; not understood outside of it."""
    if not isinstance(highest, Value):
        return highest
    if not isinstance(level, Value):
        return level
    if highest.value < 1:
        return not_understood(highest.sources[0], "at least 1", str(highest.value))
    if not 0 <= level.value <= highest.value:
        return not_understood(level.sources[0], f"0 to {highest.value}", str(level.value))
    sources = level.sources + highest.sources
    return Value(value=100 * level.value // highest.value, sources=sources)


def _read_change(tree: KernelTree, path: str) -> Reading[int]:
    changed = read_integer(tree, path)
    if isinstance(changed, Unreadable) and changed.error == NO_EVENT:
        return Absent(reason="the unit itself has not changed it yet", sources=changed.sources)
    return changed


READERS: Final = (Reader(kind="keyboard_light", find=find_lights, read=read_light),)
