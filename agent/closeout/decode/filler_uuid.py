"""UUIDs that tell no unit from another: blank ones and factory defaults."""

from __future__ import annotations

import re
from itertools import pairwise
from typing import Final

from closeout.decode.filler_text import FieldText, Kind
from closeout.model.late_pattern import late_pattern

UUID_TEXT: Final = late_pattern(r"[0-9a-f]{32}")
COUNTING: Final = ("0123456789abcdef" * 3, "1234567890" * 3, "fedcba9876543210" * 3)
RUN: Final = 8
TAGGED: Final = late_pattern(rb"\x4c\x4c\x45\x44\x00(..)\x10\x80(.)(.)\xc0\x4f(...)", re.DOTALL)


def uuid_bytes(text: FieldText) -> bytes:
    """The sixteen bytes in the order they are written; none for a text that is no UUID."""
    is_uuid = text.kind is Kind.UUID and UUID_TEXT.fullmatch(text.squeezed)
    return bytes.fromhex(text.squeezed) if is_uuid else b""


def is_blank_uuid(text: FieldText) -> bool:
    """All 00 (not present) or all FF (not set): SMBIOS (DSP0134) 7.2.1, RFC 9562 5.9, 5.10."""
    return set(uuid_bytes(text)) in ({0}, {255})


def is_uniform_uuid(text: FieldText) -> bool:
    """At most four different bytes; sixteen random ones have twelve or more."""
    return 0 < len(set(uuid_bytes(text))) <= 4


def is_doubled_uuid(text: FieldText) -> bool:
    """Every byte is one hex digit twice: `00112233-4455-6677-8899-AABBCCDDEEFF`."""
    octets = uuid_bytes(text)
    return bool(octets) and all(octet % 0x11 == 0 for octet in octets)


def is_small_uuid(text: FieldText) -> bool:
    """Every byte below sixteen: `03000200-0400-0500-0006-000700080009`."""
    octets = uuid_bytes(text)
    return bool(octets) and max(octets) < 16


def is_counting_uuid(text: FieldText) -> bool:
    """Eight hex digits that count, or eight bytes with the same step between them."""
    octets = uuid_bytes(text)
    digits = octets.hex()
    counts = any(
        digits[start : start + RUN] in counting
        for start in range(len(digits) - RUN + 1)
        for counting in COUNTING
    )
    steps = [(after - before) % 256 for before, after in pairwise(octets)]
    return counts or any(
        steps[start] and len(set(steps[start : start + RUN - 1])) == 1
        for start in range(len(steps) - RUN + 2)
    )


def is_empty_tag_uuid(text: FieldText) -> bool:
    """A UUID laid out around a service tag of seven characters, with no such tag in it.

    The layout is one maker's: ASCII, the fourth character with its top bit set (from memory).
    """
    match = TAGGED.fullmatch(uuid_bytes(text))
    if match is None:
        return False
    first, third, fourth, rest = match.groups()
    tag = first + third + bytes([fourth[0] & 0x7F]) + rest
    return not tag.isalnum()
