"""The CTA-861 extension of an EDID: data blocks, and more detailed timings (CTA-861-H, 7.5).

Clause numbers are from memory; the decoding is checked against edid-decode.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from closeout.decode.edid_descriptor import LENGTH, decode_descriptor
from closeout.decode.edid_timing import DetailedTiming
from closeout.model.frozen import frozen

BLOCKS_AT: Final = 4
BLOCKS_SINCE: Final = 3
FLAGS_SINCE: Final = 2
SUM_AT: Final = 127
VIDEO: Final = 2
EXTENDED: Final = 7
COLORIMETRY: Final = 0x705
TRANSFER: Final = 0x706
NAMES: Final = {
    1: "Audio",
    VIDEO: "Video",
    3: "Vendor-Specific",
    4: "Speaker Allocation",
    5: "VESA Display Transfer Characteristics",
    6: "Video Format",
    0x700: "Video Capability",
    0x701: "Vendor-Specific Video",
    0x702: "VESA Video Display Device",
    COLORIMETRY: "Colorimetry",
    TRANSFER: "HDR Static Metadata",
    0x707: "HDR Dynamic Metadata",
    0x708: "Native Video Resolution",
    0x70D: "Video Format Preference",
    0x70E: "YCbCr 4:2:0 Video",
    0x70F: "YCbCr 4:2:0 Capability Map",
    0x711: "Vendor-Specific Audio",
    0x712: "HDMI Audio",
    0x713: "Room Configuration",
    0x714: "Speaker Location",
    0x720: "InfoFrame",
    0x778: "HDMI Forum EDID Extension Override",
    0x779: "HDMI Forum Sink Capability",
}
"""Tag, or 700h and the extended tag, to the name of a data block."""
COLOURS: Final = (
    "xvYCC601",
    "xvYCC709",
    "sYCC601",
    "opYCC601",
    "opRGB",
    "BT2020cYCC",
    "BT2020YCC",
    "BT2020RGB",
)
"""By the bits of the colorimetry block's first byte."""
TRANSFERS: Final = ("SDR", "HDR", "SMPTE ST2084", "Hybrid Log-Gamma")
"""Traditional gamma for SDR and for HDR luminance, the perceptual quantizer, and HLG."""


@frozen
class CtaBlock:
    """One data block; `tag` is 700h and more for one with an extended tag."""

    tag: int
    content: bytes

    @property
    def name(self) -> str:
        """What the standard calls it."""
        return NAMES.get(self.tag) or f"unknown {self.tag:#x}"


@frozen
class Cta:
    """The extension; `overrun` says that its parts do not fit into it."""

    revision: int
    underscan: bool
    basic_audio: bool
    ycbcr_444: bool
    ycbcr_422: bool
    native_count: int
    blocks: tuple[CtaBlock, ...]
    timings: tuple[DetailedTiming, ...]
    overrun: bool

    @property
    def video_codes(self) -> tuple[int, ...]:
        """The video identification codes, in order, the preferred first."""
        found = (block for block in self.blocks if block.tag == VIDEO)
        return tuple(code for block in found for code in map(video_code, block.content) if code)

    @property
    def colours(self) -> tuple[str, ...]:
        """The colour spaces beyond the usual."""
        return self._flags(COLORIMETRY, COLOURS)

    @property
    def transfers(self) -> tuple[str, ...]:
        """The transfer functions of the static HDR metadata."""
        return self._flags(TRANSFER, TRANSFERS)

    def _flags(self, tag: int, words: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(
            word
            for block in self.blocks
            if block.tag == tag and block.content
            for bit, word in enumerate(words)
            if block.content[0] >> bit & 1
        )


def video_code(short: int) -> int:
    """The code of a short video descriptor, 0 for a reserved one; 129 to 192 are native ones."""
    if short in {0, 128, 254, 255}:
        return 0
    return short & 0x7F if 129 <= short <= 192 else short


def decode_cta(block: bytes) -> Cta:
    """The 128 bytes of a CTA-861 extension; total."""
    revision, timings_at = block[1], block[2]
    flags = block[3] if revision >= FLAGS_SINCE else 0
    collection = block[BLOCKS_AT : min(timings_at, SUM_AT)] if revision >= BLOCKS_SINCE else b""
    blocks = tuple(decode_cta_blocks(collection))
    return Cta(
        revision=revision,
        underscan=bool(flags & 0x80),
        basic_audio=bool(flags & 0x40),
        ycbcr_444=bool(flags & 0x20),
        ycbcr_422=bool(flags & 0x10),
        native_count=flags & 15,
        blocks=blocks,
        timings=tuple(_decode_timings(block, timings_at, revision)),
        overrun=not (timings_at == 0 or BLOCKS_AT <= timings_at <= SUM_AT)
        or _is_overrun(collection),
    )


def decode_cta_blocks(raw: bytes) -> Iterator[CtaBlock]:
    """The data blocks of a collection; one that runs over the end is cut there."""
    at = 0
    while at < len(raw):
        length = raw[at] & 31
        yield _decode_cta_block(raw[at] >> 5, raw[at + 1 : at + 1 + length])
        at += 1 + length


def _decode_cta_block(tag: int, content: bytes) -> CtaBlock:
    if tag == EXTENDED and content:
        return CtaBlock(tag=EXTENDED << 8 | content[0], content=content[1:])
    return CtaBlock(tag=tag, content=content)


def _is_overrun(collection: bytes) -> bool:
    at = 0
    while at < len(collection):
        at += 1 + (collection[at] & 31)
    return at > len(collection)


def _decode_timings(block: bytes, at: int, revision: int) -> Iterator[DetailedTiming]:
    """From where the header says, as many as there are before padding or the sum."""
    if at < BLOCKS_AT:
        return
    while at + LENGTH <= SUM_AT and any(block[at : at + LENGTH]):
        found = decode_descriptor(block[at : at + LENGTH], revision)
        if isinstance(found, DetailedTiming):
            yield found
        at += LENGTH
