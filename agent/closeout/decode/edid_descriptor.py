"""The four 18-byte descriptors of an EDID's first block (VESA E-EDID 1.4, 3.10)."""

from __future__ import annotations

from typing import Final, TypeAlias

from closeout.decode.edid_timing import DetailedTiming, decode_detailed_timing
from closeout.model.frozen import frozen
from closeout.model.late_pattern import late_pattern

LENGTH: Final = 18
SERIAL: Final = 0xFF
TEXT: Final = 0xFE
LIMITS: Final = 0xFD
NAME: Final = 0xFC
TEXT_AT: Final = 5
LINE_END: Final = 0x0A
RUN: Final = late_pattern(rb"[\x20-\x7e]+")
SHORTEST_FURTHER: Final = 4
SLOWEST_CLOCK_HZ: Final = 10_000_000
"""No display runs slower; edid-decode draws the same line (common practice)."""
MEANINGS: Final = {
    0xFB: "more white points",
    0xFA: "more standard timings",
    0xF9: "colour management",
    0xF8: "CVT timings",
    0xF7: "established timings III",
    0x10: "dummy",
}


@frozen
class TextDescriptor:
    """A name (FCh), free text (FEh) or serial number (FFh), with its padding.

    `text` ends at the line end or at the first byte that is no printable ASCII. Makers also put
    part numbers behind a revision byte: such runs of at least four characters are `further`.
    """

    tag: int
    text: str
    further: tuple[str, ...]


@frozen
class LimitsDescriptor:
    """What the display can follow (FDh): hertz, kilohertz, and megahertz for the pixel clock."""

    vertical_hertz: tuple[int, int]
    horizontal_kilohertz: tuple[int, int]
    clock_megahertz: int


@frozen
class OtherDescriptor:
    """Anything else: `tag` and what it stands for."""

    tag: int
    meaning: str


@frozen
class BrokenTiming:
    """No timing that a display could show, often a text whose descriptor slipped."""

    clock_hz: int


Descriptor: TypeAlias = (
    DetailedTiming | TextDescriptor | LimitsDescriptor | OtherDescriptor | BrokenTiming
)


def decode_descriptor(raw: bytes, revision: int) -> Descriptor:
    """What 18 bytes hold: a timing where they start with a clock, else what the tag says."""
    if raw[0] or raw[1]:
        timing = decode_detailed_timing(raw)
        return timing if _is_shown(timing) else BrokenTiming(clock_hz=timing.clock_hz)
    tag = raw[3]
    if tag in {SERIAL, TEXT, NAME}:
        return _decode_text(tag, raw[TEXT_AT:])
    if tag == LIMITS:
        return _decode_limits(raw, revision)
    if not any(raw):
        return OtherDescriptor(tag=tag, meaning="empty")
    return OtherDescriptor(tag=tag, meaning=MEANINGS.get(tag) or _reserved_or_maker(tag))


def _is_shown(timing: DetailedTiming) -> bool:
    has_picture = timing.horizontal.active > 0 and timing.vertical.active > 0
    return has_picture and timing.clock_hz >= SLOWEST_CLOCK_HZ


def _reserved_or_maker(tag: int) -> str:
    return "maker's own" if tag <= 0x0F else "reserved"


def _decode_text(tag: int, raw: bytes) -> TextDescriptor:
    line = raw.split(bytes([LINE_END]), 1)[0]
    first = RUN.match(line)
    rest = line[first.end() :] if first else line
    runs = [run.decode("ascii").strip() for run in RUN.findall(rest)]
    return TextDescriptor(
        tag=tag,
        text=first[0].decode("ascii") if first else "",
        further=tuple(run for run in runs if len(run) >= SHORTEST_FURTHER),
    )


def _decode_limits(raw: bytes, revision: int) -> LimitsDescriptor:
    """Since 1.4 two bits of byte 4 a pair add 255 to the highest value (2) or to both ends (3)."""
    offsets = raw[4] if revision >= 4 else 0
    vertical, horizontal = offsets & 3, offsets >> 2 & 3
    return LimitsDescriptor(
        vertical_hertz=_range(raw[5], raw[6], vertical),
        horizontal_kilohertz=_range(raw[7], raw[8], horizontal),
        clock_megahertz=raw[9] * 10,
    )


def _range(low: int, high: int, offsets: int) -> tuple[int, int]:
    return (low + 255 * (offsets == 3), high + 255 * (offsets >= 2))
