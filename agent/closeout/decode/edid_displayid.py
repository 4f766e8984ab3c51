"""The DisplayID extension of an EDID (VESA DisplayID 1.3 and 2.0, section 2 for the structure).

The header is version, length, product type and count; then come data blocks of tag, revision,
length and content, padding, and a sum of its own. Section numbers are from memory; the decoding
is checked against edid-decode.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from closeout.decode.edid_cta import CtaBlock, decode_cta_blocks
from closeout.decode.edid_given import Given, NotGiven
from closeout.decode.edid_timing import DetailedTiming, Span
from closeout.model.frozen import frozen

SECTION_AT: Final = 1
BLOCKS_AT: Final = 5
HEAD: Final = 3
TIMING: Final = 20
TYPE_1: Final = 0x03
TYPE_7: Final = 0x22
TIMING_STEPS_HZ: Final = {TYPE_1: 10_000, TYPE_7: 1_000}
"""Tags of detailed timings to what their clocks count in."""
PRODUCT: Final = frozenset({0x00, 0x20})
PARAMETERS: Final = frozenset({0x01, 0x21})
CTA: Final = 0x81
PRODUCT_HEAD: Final = 12
FIRST_YEAR: Final = 2000
PREFERRED: Final = 0x80
FRONT_BITS: Final = 0x7FFF
MODEL_YEAR: Final = 0xFF
WHOLE_MILLIMETRES: Final = 0x80
INTERLACED: Final = 0x10
NAMES_1: Final = {
    0x00: "Product Identification",
    0x01: "Display Parameters",
    0x02: "Color Characteristics",
    0x03: "Video Timing Modes Type 1 - Detailed Timings",
    0x04: "Video Timing Modes Type 2 - Detailed Timings",
    0x05: "Video Timing Modes Type 3 - Short Timings",
    0x06: "Video Timing Modes Type 4 - DMT Timings",
    0x07: "Supported Timing Modes Type 1 - VESA DMT Timings",
    0x08: "Supported Timing Modes Type 2 - CTA-861 Timings",
    0x09: "Video Timing Range Limits",
    0x0A: "Product Serial Number",
    0x0B: "GP ASCII String",
    0x0C: "Display Device",
    0x0D: "Interface Power Sequencing",
    0x0E: "Transfer Characteristics",
    0x0F: "Display Interface",
    0x10: "Stereo Display Interface",
    0x11: "Video Timing Modes Type 5 - Short Timings",
    0x12: "Tiled Display Topology",
    0x13: "Video Timing Modes Type 6 - Detailed Timings",
    0x7F: "Vendor-Specific",
}
NAMES_2: Final = {
    0x20: "Product Identification",
    0x21: "Display Parameters",
    0x22: "Video Timing Modes Type 7 - Detailed Timings",
    0x23: "Video Timing Modes Type 8 - Enumerated Timing Codes",
    0x24: "Video Timing Modes Type 9 - Formula-based Timings",
    0x25: "Dynamic Video Timing Range Limits",
    0x26: "Display Interface Features",
    0x27: "Stereo Display Interface",
    0x28: "Tiled Display Topology",
    0x29: "ContainerID",
    0x2A: "Video Timing Modes Type 10 - Formula-based Timings",
    0x2B: "Adaptive Sync",
    0x7E: "Vendor-Specific",
    CTA: "CTA-861",
}
NAMES: Final = NAMES_1 | NAMES_2


@frozen
class MarkedTiming:
    """A detailed timing, and whether it is marked as preferred."""

    timing: DetailedTiming
    preferred: bool


@frozen
class Product:
    """Who made what; `maker` is three letters, or the number (OUI) that IEEE gave."""

    maker: str
    product: int
    serial: Given[int]
    year: Given[int]
    week: Given[int]
    name: str


@frozen
class Parameters:
    """Size of the picture in tenths of a millimetre, and its pixels."""

    size_tenths: Given[tuple[int, int]]
    pixels: Given[tuple[int, int]]


@frozen
class Section:
    """One data block as it stands."""

    tag: int
    revision: int
    content: bytes

    @property
    def name(self) -> str:
        """What the standard calls it."""
        return NAMES.get(self.tag) or f"unknown {self.tag:#x}"


@frozen
class DisplayId:
    """The extension; `sum_good` is about the section's own sum, `overrun` that it is too long."""

    version: tuple[int, int]
    product_type: int
    extension_count: int
    sections: tuple[Section, ...]
    sum_good: bool
    overrun: bool

    @property
    def timings(self) -> tuple[MarkedTiming, ...]:
        """The detailed timings of types I and VII, in order."""
        found = (part for part in self.sections if part.tag in TIMING_STEPS_HZ)
        return tuple(timing for part in found for timing in _decode_timings(part))

    @property
    def products(self) -> tuple[Product, ...]:
        """Product identifications."""
        found = (part for part in self.sections if part.tag in PRODUCT)
        return tuple(_decode_product(part) for part in found if len(part.content) >= PRODUCT_HEAD)

    @property
    def parameters(self) -> tuple[Parameters, ...]:
        """Display parameters."""
        found = (part for part in self.sections if part.tag in PARAMETERS)
        return tuple(_decode_parameters(part) for part in found if len(part.content) >= 8)

    @property
    def cta_blocks(self) -> tuple[CtaBlock, ...]:
        """Data blocks of CTA-861 that are carried in it."""
        found = (part for part in self.sections if part.tag == CTA)
        return tuple(block for part in found for block in decode_cta_blocks(part.content))


def decode_displayid(block: bytes) -> DisplayId:
    """The 128 bytes of a DisplayID extension; total."""
    version, length, product_type, count = block[SECTION_AT:BLOCKS_AT]
    end = BLOCKS_AT + length
    limit = len(block) - 2  # where the section's sum stands at the latest, before the block's own
    return DisplayId(
        version=(version >> 4, version & 15),
        product_type=product_type,
        extension_count=count,
        sections=tuple(_decode_sections(block[BLOCKS_AT : min(end, limit)])),
        sum_good=end <= limit and sum(block[SECTION_AT : end + 1]) % 256 == 0,
        overrun=end > limit or _is_overrun(block[BLOCKS_AT:end]),
    )


def _decode_sections(raw: bytes) -> Iterator[Section]:
    """Data blocks up to padding, which is zeros; one that runs over the end is left out."""
    at = 0
    while at + HEAD <= len(raw) and any(raw[at : at + HEAD]):
        content = raw[at + HEAD : at + HEAD + raw[at + 2]]
        if len(content) == raw[at + 2]:
            yield Section(tag=raw[at], revision=raw[at + 1], content=content)
        at += HEAD + raw[at + 2]


def _is_overrun(raw: bytes) -> bool:
    at = 0
    while at + HEAD <= len(raw) and any(raw[at : at + HEAD]):
        at += HEAD + raw[at + 2]
    return at > len(raw)


def _decode_timings(part: Section) -> Iterator[MarkedTiming]:
    step = TIMING_STEPS_HZ[part.tag]
    for at in range(0, len(part.content) - TIMING + 1, TIMING):
        yield _decode_timing(part.content[at : at + TIMING], step)


def _decode_timing(raw: bytes, step: int) -> MarkedTiming:
    """Clock, options, then numbers that count from one."""
    timing = DetailedTiming(
        clock_hz=(int.from_bytes(raw[:3], "little") + 1) * step,
        horizontal=_span(raw[4:12]),
        vertical=_span(raw[12:20]),
        interlaced=bool(raw[3] & INTERLACED),
    )
    return MarkedTiming(timing=timing, preferred=bool(raw[3] & PREFERRED))


def _span(raw: bytes) -> Span:
    """Active, blank, front and sync; the highest bit of the front is the sync's polarity."""
    active, blank, front, sync = (_number(raw, at) for at in range(0, 8, 2))
    return Span(
        active=active + 1,
        blank=blank + 1,
        front=(front & FRONT_BITS) + 1,
        sync=sync + 1,
        border=0,
        millimetres=0,
    )


def _number(raw: bytes, at: int) -> int:
    return int.from_bytes(raw[at : at + 2], "little")


def _decode_product(part: Section) -> Product:
    raw = part.content
    week, year = raw[9], raw[10]
    name = raw[PRODUCT_HEAD : PRODUCT_HEAD + raw[11]]
    is_model_year = week == MODEL_YEAR
    return Product(
        maker=_maker(part.tag, raw[:3]),
        product=_number(raw, 3),
        serial=int.from_bytes(raw[5:9], "little") or NotGiven(reason="the serial number is zero"),
        year=FIRST_YEAR + year if year or is_model_year else NotGiven(reason="no year is given"),
        week=week if 0 < week < MODEL_YEAR else NotGiven(reason="no week is given"),
        name=name.decode("ascii", "replace").rstrip("\0\n ").strip(),
    )


def _maker(tag: int, raw: bytes) -> str:
    if tag in NAMES_1:
        return raw.decode("ascii", "replace")
    return "-".join(f"{byte:02X}" for byte in raw)


def _decode_parameters(part: Section) -> Parameters:
    """Version 2 may count whole millimetres, which bit 7 of the revision says."""
    across, down, wide, high = (_number(part.content, at) for at in range(0, 8, 2))
    step = 10 if part.tag in NAMES_2 and part.revision & WHOLE_MILLIMETRES else 1
    no_size = NotGiven(reason="no size is given")
    no_pixels = NotGiven(reason="no pixels are given")
    return Parameters(
        size_tenths=(across * step, down * step) if across and down else no_size,
        pixels=(wide, high) if wide and high else no_pixels,
    )
