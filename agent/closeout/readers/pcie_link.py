"""The PCI Express link of a function: how fast and wide it is, and what both its ends can.

Kernel files: `current_link_speed`, `max_link_speed`, `current_link_width`, `max_link_width`
(Documentation/ABI/testing/sysfs-bus-pci). A port that faces a device has that device for its
other end, every other function the port above it. A slow link saves power at rest and is no
fault; a narrow one is what a bad contact looks like (common practice).
"""

from __future__ import annotations

from typing import Final, TypeVar

from closeout.kernel.tree import KernelTree
from closeout.model.frozen import frozen
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Absent, Reading, Unreadable, Value, combine
from closeout.readers.attributes import list_folder, read_integer, read_text, understand
from closeout.readers.places import PCI_FUNCTION, label_of

T = TypeVar("T")

BRIDGE: Final = "0604"
WIDTHS: Final = frozenset({1, 2, 4, 8, 12, 16, 32})
"""PCI Express base specification, Link Capabilities: the widths that there are."""
SPEED: Final = late_pattern(r"(\d+)\.(\d) GT/s( PCIe)?")
UNKNOWN: Final = "Unknown"
HOST_BRIDGE: Final = late_pattern(r"/pci[0-9a-f]{4,}:[0-9a-f]{2}(?=/|$)")
"""The folder of a host bridge; one may lie below a function that opens a bus of its own."""


@frozen
class PcieLink:
    """A link as it is and as it could be."""

    speed: Reading[str]
    speed_possible: Reading[str]
    width: Reading[int]
    width_possible: Reading[int]
    narrow: Reading[bool]


def read_link(tree: KernelTree, place: str) -> PcieLink:
    """The link of the function at a place; of one that has none, every reading is absent."""
    other = _other_end(tree, place)
    if not isinstance(other, Value):
        return PcieLink(
            speed=other, speed_possible=other, width=other, width_possible=other, narrow=other
        )
    ends = (place, other.value)
    speeds = [_read_speed(tree, f"{end}/max_link_speed") for end in ends]
    widths = [_read_width(tree, f"{end}/max_link_width") for end in ends]
    width = _read_width(tree, f"{place}/current_link_width")
    width_possible = combine(widths[0], widths[1], min)
    return PcieLink(
        speed=_read_speed(tree, f"{place}/current_link_speed"),
        speed_possible=combine(speeds[0], speeds[1], lambda one, two: min(one, two, key=_rate)),
        width=width,
        width_possible=width_possible,
        narrow=combine(width, width_possible, lambda now, possible: now < possible),
    )


def _other_end(tree: KernelTree, place: str) -> Reading[str]:
    """The function at the other end of the link."""
    above = place.rpartition("/")[0]
    here = HOST_BRIDGE.split(above)[-1]
    ports = sum(PCI_FUNCTION.fullmatch(part) is not None for part in here.split("/"))
    code = read_text(tree, f"{place}/class")
    if not isinstance(code, Value):
        return code
    faces_down = code.value.removeprefix("0x").startswith(BRIDGE) and ports % 2 == 0
    if faces_down:
        return _first_below(tree, place)
    if not ports:
        return Absent(reason="it is part of the root complex: no link", sources=code.sources)
    return Value(value=above, sources=code.sources)


def _first_below(tree: KernelTree, place: str) -> Reading[str]:
    """Root and downstream ports alternate with upstream ones, so their depth is even."""
    listing = list_folder(tree, place)
    if not isinstance(listing, Value):
        return listing
    below = [name for name in listing.value if PCI_FUNCTION.fullmatch(label_of(name))]
    if not below:
        return Absent(reason="nothing is behind this port", sources=listing.sources)
    return Value(value=f"{place}/{below[0]}", sources=listing.sources)


def _read_speed(tree: KernelTree, path: str) -> Reading[str]:
    text = read_text(tree, path)
    if isinstance(text, Value) and text.value.startswith(UNKNOWN):
        return _not_known(text)
    return understand(
        text, "a speed such as 8.0 GT/s", lambda found: found if SPEED.fullmatch(found) else None
    )


def _read_width(tree: KernelTree, path: str) -> Reading[int]:
    width = read_integer(tree, path)
    if not isinstance(width, Value):
        return width
    if width.value == 0:
        return _not_known(width)
    shown = Value(value=str(width.value), sources=width.sources)
    return understand(
        shown, "a number of lanes", lambda _: width.value if width.value in WIDTHS else None
    )


def _not_known(reading: Value[T]) -> Unreadable:
    advice = "the link is down or its device asleep; use the device, then read again"
    return Unreadable(error="UNKNOWN", advice=advice, sources=reading.sources)


def _rate(speed: str) -> tuple[int, int]:
    found = SPEED.fullmatch(speed)
    return (int(found[1]), int(found[2])) if found else (0, 0)
