"""What every device has: where it sits, what people call it, and inside or outside."""

from __future__ import annotations

from enum import Enum

from closeout.model.frozen import frozen


class Position(Enum):
    """Inside the unit, plugged in from outside, or not known.

    UNKNOWN is where nothing tells; UNREAD is where what would tell could not be read.
    """

    INTERNAL = "internal"
    EXTERNAL = "external"
    UNKNOWN = "unknown"
    UNREAD = "unread"


@frozen
class Device:
    """`place` is the bus path that identifies it; `label` (`BAT0`, `card1`) is for people."""

    place: str
    label: str
    position: Position
