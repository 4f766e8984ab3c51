"""How much of the console every screen shows, where several are connected.

The kernel lays one console on all of them, as large as the largest; a smaller one shows its upper
left corner, and the last line, where people type, lies outside.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Final

CONNECTORS: Final = Path("/sys/class/drm")
FRAME: Final = Path("/sys/class/graphics/fb0/virtual_size")
CONNECTED: Final = "connected"
SMALLEST: Final = (10, 20)
"""Rows and columns; a screen that says less of itself is not believed."""

Size = tuple[int, int]


def fit(console: Size, frame: Size, screens: Iterable[Size]) -> Size:
    """Rows and columns that all screens show of a console that has those of the whole frame.

    `frame` and `screens` are widths and heights in dots.
    """
    rows, columns = console
    for width, height in screens:
        columns = min(columns, console[1] * width // frame[0])
        rows = min(rows, console[0] * height // frame[1])
    if rows < SMALLEST[0] or columns < SMALLEST[1]:
        return console
    return rows, columns


def read_frame(file: Path = FRAME) -> Size | None:
    """Width and height of what the console is drawn in; None where nobody says."""
    return _size(_text(file).replace(",", "x"))


def read_screens(folder: Path = CONNECTORS) -> tuple[Size, ...]:
    """The mode of every connected screen: the first that it lists is the one it prefers."""
    found: list[Size] = []
    for status in sorted(folder.glob("card*-*/status")):
        if _text(status).strip() == CONNECTED:
            modes = _text(status.with_name("modes")).splitlines()
            size = _size(modes[0]) if modes else None
            found += [size] if size else []
    return tuple(found)


def _size(text: str) -> Size | None:
    width, _, height = text.strip().rstrip("i").partition("x")
    if not (width.isdecimal() and height.isdecimal() and int(width) and int(height)):
        return None
    return int(width), int(height)


def _text(file: Path) -> str:
    try:
        return file.read_text("ascii")
    except (OSError, ValueError):
        return ""
