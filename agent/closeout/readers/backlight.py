"""Backlight controls.

Kernel path: `sys/class/backlight/*` (Documentation/ABI/stable/sysfs-class-backlight, and
sysfs-class-backlight in testing for `scale`). Where several controls drive one lamp, that
document says to use the firmware's first, then the platform's, then the raw one.
"""

from __future__ import annotations

from typing import Final

from closeout.kernel.tree import KernelTree
from closeout.model.device import Position
from closeout.model.display import Backlight
from closeout.model.inventory import Listing
from closeout.model.reading import Reading, Value, combine
from closeout.readers.attributes import list_class, read_integer, read_text, understand
from closeout.readers.keyboard_light import read_percent
from closeout.readers.places import label_of, locate
from closeout.readers.reader import Reader

CLASS: Final = "sys/class/backlight"
BEST_FIRST: Final = ("firmware", "platform", "raw")
POWER: Final = {"0": "on", "1": "reduced", "2": "reduced", "3": "reduced", "4": "off"}
"""FB_BLANK_... of include/uapi/linux/fb.h: unblank 0, power down 4; those between are old states
of monitors."""


def find_backlights(tree: KernelTree) -> Listing:
    """The places of all backlight controls."""
    listing = list_class(tree, CLASS)
    if not isinstance(listing, Value):
        return listing
    places = tuple(locate(tree, f"{CLASS}/{name}") for name in listing.value)
    return Value(value=places, sources=listing.sources)


def read_backlight(tree: KernelTree, place: str) -> Backlight:
    """One control; the kernel's class is for panels of the unit itself."""
    control_type = read_text(tree, f"{place}/type")
    brightness = read_integer(tree, f"{place}/brightness")
    actual = read_integer(tree, f"{place}/actual_brightness")
    highest = read_integer(tree, f"{place}/max_brightness")
    return Backlight(
        place=place,
        label=label_of(place),
        position=Position.INTERNAL,
        control_type=control_type,
        preferred=read_preference(tree, control_type),
        brightness=brightness,
        actual_brightness=actual,
        max_brightness=highest,
        level_percent=read_percent(brightness, highest),
        in_range=read_range(brightness, actual, highest),
        power=understand(read_text(tree, f"{place}/bl_power"), "0 to 4", POWER.get),
        scale=read_text(tree, f"{place}/scale"),
    )


def read_preference(tree: KernelTree, control_type: Reading[str]) -> Reading[bool]:
    """Whether no other control of the unit is of a better sort."""
    listing = find_backlights(tree)
    if not isinstance(control_type, Value):
        return control_type
    if not isinstance(listing, Value):
        return listing
    others = [read_text(tree, f"{place}/type") for place in listing.value]
    sources = (*control_type.sources, *(source for other in others for source in other.sources))
    best = min((_rank(other.value) for other in others if isinstance(other, Value)), default=0)
    return Value(value=_rank(control_type.value) <= best, sources=tuple(dict.fromkeys(sources)))


def _rank(control_type: str) -> int:
    return BEST_FIRST.index(control_type) if control_type in BEST_FIRST else len(BEST_FIRST)


def read_range(
    brightness: Reading[int], actual: Reading[int], highest: Reading[int]
) -> Reading[bool]:
    """Whether the highest step is one, and neither brightness lies outside of 0 and it."""
    inside = combine(brightness, highest, _is_inside)
    if isinstance(inside, Value) and not inside.value:
        return inside
    return combine(inside, combine(actual, highest, _is_inside), lambda one, other: one and other)


def _is_inside(level: int, highest: int) -> bool:
    return 0 <= level <= highest and highest > 0


READERS: Final = (Reader(kind="backlight", find=find_backlights, read=read_backlight),)
