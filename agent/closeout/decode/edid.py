"""The EDID of a display: its first block and its extensions (VESA E-EDID 1.4).

Sums, lengths and odd values are facts in the result; only what is no EDID at all is an error.
Section numbers are from memory; the decoding is checked against edid-decode.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from closeout.decode.edid_descriptor import (
    LENGTH,
    NAME,
    SERIAL,
    TEXT,
    Descriptor,
    TextDescriptor,
    decode_descriptor,
)
from closeout.decode.edid_given import Given, NotGiven
from closeout.decode.edid_screen import Chromaticity, Screen, decode_chromaticity, decode_screen
from closeout.decode.edid_timing import (
    DetailedTiming,
    Mode,
    decode_established_timings,
    decode_standard_timings,
)
from closeout.decode.failure import DecodeError
from closeout.model.frozen import frozen

if TYPE_CHECKING:
    from closeout.decode.edid_extension import Extension

WHAT: Final = "EDID"
BLOCK: Final = 128
HEADER: Final = bytes.fromhex("00ffffffffffff00")
DESCRIPTORS_AT: Final = 54
EXTENSION_COUNT_AT: Final = 126
FIRST_YEAR: Final = 1990
MODEL_YEAR_WEEK: Final = 0xFF
NO_WEEK: Final = {
    0: NotGiven(reason="no week is given"),
    MODEL_YEAR_WEEK: NotGiven(reason="the year is that of the model"),
}
NO_TIMING: Final = NotGiven(reason="no detailed timing is there")
EXTENSION_NAMES: Final = {
    0x02: "CTA-861 Extension Block",
    0x10: "Video Timing Extension Block",
    0x20: "EDID 2.0 Extension Block",
    0x40: "Display Information Extension Block",
    0x50: "Localized String Extension Block",
    0x60: "Microdisplay Interface Extension Block",
    0x70: "DisplayID Extension Block",
    0xF0: "Block Map Extension Block",
    0xFF: "Manufacturer-Specific Extension Block",
}


@frozen
class Maker:
    r"""Who made the display and when (3.4); `year` is of manufacture or of the model.

    `week` is as it stands, which may be no week of a year; `letters` may hold one of ``@[\]^_``
    where five bits are no letter.
    """

    letters: str
    product: int
    serial: Given[int]
    week: Given[int]
    year: int
    is_model_year: bool


@frozen
class Block:
    """One block of 128 bytes: its tag (00h for the first), its sum byte, and whether it adds up."""

    tag: int
    checksum: int
    checksum_good: bool


@frozen
class Edid:
    """All of the first block; `extension_count` is what it says, `blocks` what is there.

    `extensions` has one for each block behind the first, in order.
    """

    version: tuple[int, int]
    maker: Maker
    screen: Screen
    chromaticity: Chromaticity
    established: tuple[Mode, ...]
    standard: tuple[Mode, ...]
    descriptors: tuple[Descriptor, ...]
    extension_count: int
    blocks: tuple[Block, ...]
    extensions: tuple[Extension, ...]
    length: int

    @property
    def is_whole(self) -> bool:
        """There are as many bytes as the first block says."""
        return self.length == BLOCK * (1 + self.extension_count)

    @property
    def is_sound(self) -> bool:
        """Every block that is there adds up to zero."""
        return all(block.checksum_good for block in self.blocks)

    @property
    def timings(self) -> tuple[DetailedTiming, ...]:
        """The detailed timings of the first block, in order."""
        return tuple(found for found in self.descriptors if isinstance(found, DetailedTiming))

    @property
    def preferred(self) -> Given[DetailedTiming]:
        """The first detailed timing, which is the preferred mode."""
        return self.timings[0] if self.timings else NO_TIMING

    @property
    def native(self) -> Given[DetailedTiming]:
        """The preferred mode, wherever it is given.

        The first timing of the first block; without one, the first that DisplayID marks as
        preferred, then the first of any extension. Blocks behind those that the first block
        counts have no say: they are leftovers of another reading.
        """
        if self.timings:
            return self.timings[0]
        if not self._counted:
            return NO_TIMING
        from closeout.decode.edid_extension import timings_of  # noqa: PLC0415 - as below

        marked = [timing for found in self._counted for timing in timings_of(found)]
        for timing in marked:
            if timing.preferred:
                return timing.timing
        return marked[0].timing if marked else NO_TIMING

    @property
    def size_tenths(self) -> tuple[tuple[int, int], ...]:
        """Sizes of the picture in tenths of a millimetre that DisplayID gives."""
        if not self._counted:
            return ()
        from closeout.decode.edid_extension import sizes_of  # noqa: PLC0415 - as below

        return tuple(size for found in self._counted for size in sizes_of(found))

    @property
    def names(self) -> tuple[str, ...]:
        """The display's name, one for each such descriptor."""
        return self._texts(NAME)

    @property
    def serial_texts(self) -> tuple[str, ...]:
        """The serial number as text, one for each such descriptor."""
        return self._texts(SERIAL)

    @property
    def free_texts(self) -> tuple[str, ...]:
        """Free texts; notebook panels put maker and part number there."""
        return self._texts(TEXT)

    @property
    def further_texts(self) -> tuple[str, ...]:
        """Readable runs behind the end of the free texts."""
        found = (text for text in self.descriptors if isinstance(text, TextDescriptor))
        return tuple(run for text in found if text.tag == TEXT for run in text.further)

    @property
    def _counted(self) -> tuple[Extension, ...]:
        """Those that the first block counts."""
        return self.extensions[: self.extension_count]

    def _texts(self, tag: int) -> tuple[str, ...]:
        found = (text for text in self.descriptors if isinstance(text, TextDescriptor))
        return tuple(text.text for text in found if text.tag == tag)


def name_extension(tag: int) -> str:
    """What the standard calls an extension with this tag."""
    return EXTENSION_NAMES.get(tag) or f"Unknown EDID Extension Block 0x{tag:02x}"


def decode_edid(raw: bytes) -> Edid:
    """The first block's fields, tag and sum of each block, and what the extensions say.

    Raises:
        DecodeError: fewer bytes than one block, or none of an EDID's header.
    """
    if len(raw) < BLOCK:
        raise DecodeError(WHAT, len(raw), f"the first block takes {BLOCK} bytes")
    _check_header(raw)
    revision = raw[0x13]
    return Edid(
        version=(raw[0x12], revision),
        maker=_decode_maker(raw),
        screen=decode_screen(raw, revision),
        chromaticity=decode_chromaticity(raw),
        established=decode_established_timings(raw[0x23:0x26]),
        standard=decode_standard_timings(raw[0x26:0x36], revision),
        descriptors=tuple(
            decode_descriptor(raw[at : at + LENGTH], revision)
            for at in range(DESCRIPTORS_AT, EXTENSION_COUNT_AT, LENGTH)
        ),
        extension_count=raw[EXTENSION_COUNT_AT],
        blocks=tuple(
            _decode_block(raw[at : at + BLOCK]) for at in range(0, len(raw) - BLOCK + 1, BLOCK)
        ),
        extensions=_decode_extensions(raw[BLOCK:]),
        length=len(raw),
    )


def _decode_extensions(raw: bytes) -> tuple[Extension, ...]:
    if len(raw) < BLOCK:
        return ()
    from closeout.decode.edid_extension import decode_extension  # noqa: PLC0415 - few panels have one

    return tuple(
        decode_extension(raw[at : at + BLOCK]) for at in range(0, len(raw) - BLOCK + 1, BLOCK)
    )


def _check_header(raw: bytes) -> None:
    for offset, (found, expected) in enumerate(zip(raw, HEADER, strict=False)):
        if found != expected:
            raise DecodeError(WHAT, offset, f"{expected:02X}h of the header was expected")


def _decode_maker(raw: bytes) -> Maker:
    serial = int.from_bytes(raw[0x0C:0x10], "little")
    week = raw[0x10]
    return Maker(
        letters=_decode_letters(int.from_bytes(raw[0x08:0x0A], "big")),
        product=int.from_bytes(raw[0x0A:0x0C], "little"),
        serial=serial or NotGiven(reason="the serial number is zero"),
        week=NO_WEEK.get(week, week),
        year=FIRST_YEAR + raw[0x11],
        is_model_year=week == MODEL_YEAR_WEEK,
    )


def _decode_letters(packed: int) -> str:
    """Three letters of five bits, A being 1 (3.4.1)."""
    return "".join(chr(64 + (packed >> shift & 31)) for shift in (10, 5, 0))


def _decode_block(block: bytes) -> Block:
    return Block(tag=block[0], checksum=block[-1], checksum_good=sum(block) % 256 == 0)
