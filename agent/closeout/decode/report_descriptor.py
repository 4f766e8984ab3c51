"""What a HID device is for, by the top-level collections of its report descriptor.

Items: USB HID 1.11, 6.2.2 (short and long items, collections, push and pop). Usages: HID Usage
Tables 1.12, pages 01h (generic desktop), 0Ch (consumer) and 0Dh (digitizers).
"""

from __future__ import annotations

from typing import Final

from closeout.decode.failure import DecodeError

WHAT: Final = "report descriptor"
SHORT_SIZES: Final = (0, 1, 2, 4)
LONG_ITEM: Final = 0xFE
USAGE_PAGE: Final = 0x04
USAGE: Final = 0x08
USAGE_MINIMUM: Final = 0x18
COLLECTION: Final = 0xA0
END_COLLECTION: Final = 0xC0
PUSH: Final = 0xA4
POP: Final = 0xB4
MAIN: Final = 0x00
TYPE_BITS: Final = 0x0C
MOST_PUSHED: Final = 64
PURPOSES: Final = {
    0x0001_0002: "mouse",
    0x0001_0006: "keyboard",
    0x0001_0007: "keyboard",
    0x0001_000C: "button",
    0x0001_0080: "button",
    0x000C_0001: "button",
    0x000D_0001: "pen",
    0x000D_0002: "pen",
    0x000D_0004: "touchscreen",
    0x000D_0005: "touchpad",
}
"""Page and usage of a collection to the kind of device that it becomes."""


def find_collections(raw: bytes) -> tuple[int, ...]:
    """Page (high half) and usage (low half) of each top-level collection, in order.

    Raises:
        DecodeError: an item runs over the end, or collections or pushed states do not match.
    """
    reader = _Collections()
    at = 0
    while at < len(raw):
        if raw[at] == LONG_ITEM:
            size, head = (raw[at + 1] if at + 1 < len(raw) else 0), 3
        else:
            size, head = SHORT_SIZES[raw[at] & 3], 1
        end = at + head + size
        if end > len(raw):
            raise DecodeError(WHAT, at, "an item runs over the end")
        if head == 1:
            reader.take(at, raw[at] & 0xFC, raw[at + 1 : end])
        at = end
    reader.finish(len(raw))
    return tuple(reader.found)


def name_purposes(collections: tuple[int, ...]) -> tuple[str, ...]:
    """Kinds of device, each once, in the order of the collections; others are left out."""
    named = (PURPOSES.get(usage, "") for usage in collections)
    return tuple(dict.fromkeys(name for name in named if name))


class _Collections:
    """The state of 6.2.2 that bears on collections: page, first usage since, and depth."""

    def __init__(self) -> None:
        self.found: list[int] = []
        self._page = 0
        self._pushed: list[int] = []
        self._usage: int | None = None
        self._depth = 0

    def take(self, at: int, item: int, content: bytes) -> None:
        """One short item; `item` is its first byte without the size."""
        value = int.from_bytes(content, "little")
        if item == USAGE_PAGE:
            self._page = value & 0xFFFF
        elif item in {USAGE, USAGE_MINIMUM} and self._usage is None:
            self._usage = value if len(content) == SHORT_SIZES[3] else self._page << 16 | value
        elif item in {PUSH, POP}:
            self._keep(at, item)
        elif item & TYPE_BITS == MAIN:
            self._nest(at, item)
            self._usage = None

    def finish(self, at: int) -> None:
        """Nothing may be left open."""
        if self._depth:
            raise DecodeError(WHAT, at, "a collection is not closed")

    def _keep(self, at: int, item: int) -> None:
        if item == PUSH:
            if len(self._pushed) == MOST_PUSHED:
                raise DecodeError(WHAT, at, f"more than {MOST_PUSHED} states are pushed")
            self._pushed.append(self._page)
        elif self._pushed:
            self._page = self._pushed.pop()
        else:
            raise DecodeError(WHAT, at, "a state is popped that was not pushed")

    def _nest(self, at: int, item: int) -> None:
        if item == COLLECTION:
            if not self._depth:
                self.found.append(self._usage or 0)
            self._depth += 1
        elif item == END_COLLECTION:
            if not self._depth:
                raise DecodeError(WHAT, at, "a collection is closed that was not opened")
            self._depth -= 1
