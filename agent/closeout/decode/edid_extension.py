"""The extensions of an EDID: which each block is, and what of it adds to the first block."""

from __future__ import annotations

from typing import Final, TypeAlias

from closeout.decode.edid_cta import Cta, decode_cta
from closeout.decode.edid_displayid import DisplayId, MarkedTiming, decode_displayid
from closeout.decode.edid_given import NotGiven
from closeout.decode.failure import DecodeError
from closeout.model.frozen import frozen

WHAT: Final = "EDID extension"
BLOCK: Final = 128


@frozen
class BlockMap:
    """Which extension each block is, by its tag; 00h is an unused one (2.2.2)."""

    tags: tuple[int, ...]


@frozen
class OtherExtension:
    """An extension of which only the tag is known."""

    tag: int


Extension: TypeAlias = Cta | DisplayId | BlockMap | OtherExtension


def decode_extension(block: bytes) -> Extension:
    """The 128 bytes of any extension.

    Raises:
        DecodeError: there are more or fewer.
    """
    if len(block) != BLOCK:
        raise DecodeError(WHAT, len(block), f"an extension takes {BLOCK} bytes")
    match block[0]:
        case 0x02:
            return decode_cta(block)
        case 0x70:
            return decode_displayid(block)
        case 0xF0:
            return BlockMap(tags=tuple(block[1:-1].rstrip(b"\0")))
        case tag:
            return OtherExtension(tag=tag)


def timings_of(found: Extension) -> tuple[MarkedTiming, ...]:
    """Its detailed timings; only DisplayID can mark one as preferred."""
    if isinstance(found, DisplayId):
        return found.timings
    if isinstance(found, Cta):
        return tuple(MarkedTiming(timing=timing, preferred=False) for timing in found.timings)
    return ()


def sizes_of(found: Extension) -> tuple[tuple[int, int], ...]:
    """Sizes of the picture in tenths of a millimetre, which only DisplayID gives."""
    if not isinstance(found, DisplayId):
        return ()
    sizes = (told.size_tenths for told in found.parameters)
    return tuple(size for size in sizes if not isinstance(size, NotGiven))
