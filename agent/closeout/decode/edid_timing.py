"""Timings of an EDID: detailed, standard and established (VESA E-EDID 1.4, 3.8 to 3.10.2).

Section numbers are from memory; every field is checked against edid-decode.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from closeout.decode.edid_given import Given, NotGiven
from closeout.model.frozen import frozen

if TYPE_CHECKING:
    from fractions import Fraction

CLOCK_STEP_HZ: Final = 10_000
INTERLACED: Final = 0x80
NO_STANDARD_WIDTHS: Final = frozenset({0x00, 0x01})
"""01 01 is an unused pair by the standard and 00h is reserved; makers vary the second byte."""
NO_STANDARD_PAIR: Final = b"\x20\x20"
"""Spaces, which some makers take for unused (common practice)."""

ESTABLISHED: Final = (
    (0x800000, 720, 400, 70),
    (0x400000, 720, 400, 88),
    (0x200000, 640, 480, 60),
    (0x100000, 640, 480, 67),
    (0x080000, 640, 480, 72),
    (0x040000, 640, 480, 75),
    (0x020000, 800, 600, 56),
    (0x010000, 800, 600, 60),
    (0x008000, 800, 600, 72),
    (0x004000, 800, 600, 75),
    (0x002000, 832, 624, 75),
    (0x001000, 1024, 768, 87),
    (0x000800, 1024, 768, 60),
    (0x000400, 1024, 768, 70),
    (0x000200, 1024, 768, 75),
    (0x000100, 1280, 1024, 75),
    (0x000080, 1152, 870, 75),
)
"""Bit, width, height and hertz; 1024x768 at 87 Hz is interlaced."""


@frozen
class Mode:
    """A mode without its details."""

    width: int
    height: int
    hertz: int


@frozen
class Span:
    """One direction of a timing, in pixels or in lines of a field; `border` is on each side."""

    active: int
    blank: int
    front: int
    sync: int
    border: int
    millimetres: int

    @property
    def total(self) -> int:
        """Active and blank together."""
        return self.active + self.blank

    @property
    def back(self) -> int:
        """What is left between sync and picture; below zero where the parts do not fit."""
        return self.blank - self.front - self.sync - 2 * self.border


@frozen
class DetailedTiming:
    """An 18-byte detailed timing; of an interlaced one, `vertical` counts one field."""

    clock_hz: int
    horizontal: Span
    vertical: Span
    interlaced: bool

    @property
    def width(self) -> int:
        """Pixels across."""
        return self.horizontal.active

    @property
    def height(self) -> int:
        """Lines of a whole picture."""
        return self.vertical.active * (2 if self.interlaced else 1)

    @property
    def refresh_hertz(self) -> Fraction:
        """Pictures a second, or fields where interlaced."""
        from fractions import Fraction  # noqa: PLC0415 - no check needs it

        return Fraction(2 * self.clock_hz, self._half_pixels)

    @property
    def refresh_millihertz(self) -> int:
        """The refresh rate in mHz, rounded."""
        whole, rest = divmod(2000 * self.clock_hz, self._half_pixels)
        is_more = (2 * rest, whole % 2) > (self._half_pixels, 0)
        return whole + is_more

    @property
    def _half_pixels(self) -> int:
        """Twice the pixels of a field with all that is around it: one has half a line more."""
        return self.horizontal.total * (2 * self.vertical.total + self.interlaced)

    @property
    def size_millimetres(self) -> Given[tuple[int, int]]:
        """Width and height of the picture."""
        size = (self.horizontal.millimetres, self.vertical.millimetres)
        if 0 in size:
            return NotGiven(reason="the timing gives no size")
        return size


def decode_detailed_timing(raw: bytes) -> DetailedTiming:
    """The timing in 18 bytes whose clock is not zero (3.10.2)."""
    return DetailedTiming(
        clock_hz=int.from_bytes(raw[0:2], "little") * CLOCK_STEP_HZ,
        horizontal=Span(
            active=raw[2] | (raw[4] >> 4) << 8,
            blank=raw[3] | (raw[4] & 15) << 8,
            front=raw[8] | (raw[11] >> 6) << 8,
            sync=raw[9] | (raw[11] >> 4 & 3) << 8,
            border=raw[15],
            millimetres=raw[12] | (raw[14] >> 4) << 8,
        ),
        vertical=Span(
            active=raw[5] | (raw[7] >> 4) << 8,
            blank=raw[6] | (raw[7] & 15) << 8,
            front=raw[10] >> 4 | (raw[11] >> 2 & 3) << 4,
            sync=raw[10] & 15 | (raw[11] & 3) << 4,
            border=raw[16],
            millimetres=raw[13] | (raw[14] & 15) << 8,
        ),
        interlaced=bool(raw[17] & INTERLACED),
    )


def decode_standard_timings(raw: bytes, revision: int) -> tuple[Mode, ...]:
    """The modes in pairs of bytes (3.9); before 1.3 the first aspect was 1:1, since then 16:10."""
    pairs = [raw[at : at + 2] for at in range(0, len(raw) - 1, 2)]
    return tuple(_standard_mode(pair, revision) for pair in pairs if _is_used(pair))


def _is_used(pair: bytes) -> bool:
    return pair[0] not in NO_STANDARD_WIDTHS and pair != NO_STANDARD_PAIR


def _standard_mode(pair: bytes, revision: int) -> Mode:
    width = (pair[0] + 31) * 8
    across, down = ((16, 10) if revision >= 3 else (1, 1), (4, 3), (5, 4), (16, 9))[pair[1] >> 6]
    return Mode(width=width, height=width * down // across, hertz=60 + (pair[1] & 0x3F))


def decode_established_timings(raw: bytes) -> tuple[Mode, ...]:
    """The modes whose bits are set in bytes 23h to 25h (3.8)."""
    bits = int.from_bytes(raw, "big")
    return tuple(
        Mode(width=width, height=height, hertz=hertz)
        for bit, width, height, hertz in ESTABLISHED
        if bits & bit
    )
