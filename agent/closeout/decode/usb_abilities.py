"""What a USB device says it can do beyond USB 2: its Binary Device Object Store.

Layout: USB 3.2, section 9.6.2 (BOS descriptor, type 0Fh, then device capability descriptors, type
10h); capability codes in table 9-14: 03h SuperSpeed, 0Ah SuperSpeed Plus.
"""

from __future__ import annotations

from typing import Final

from closeout.decode.failure import DecodeError

STORE: Final = 0x0F
CAPABILITY: Final = 0x10
STORE_LENGTH: Final = 5
LEAST_CAPABILITY: Final = 3
SUPER_SPEED: Final = frozenset({0x03, 0x0A})
WHAT: Final = "USB device object store"


def decode_capabilities(raw: bytes) -> tuple[int, ...]:
    """The capability codes in order; raises DecodeError."""
    if len(raw) < STORE_LENGTH:
        raise DecodeError(WHAT, len(raw), f"needs {STORE_LENGTH} bytes, got {len(raw)}")
    if raw[0] < STORE_LENGTH or raw[1] != STORE:
        raise DecodeError(WHAT, 0, "does not begin with its own descriptor")
    total = int.from_bytes(raw[2:4], "little")
    if not raw[0] <= total <= len(raw):
        raise DecodeError(WHAT, 2, f"says {total} bytes, {len(raw)} are there")
    codes: list[int] = []
    offset = raw[0]
    while offset < total:
        codes.append(_capability(raw, offset, total))
        offset += raw[offset]
    if len(codes) != raw[4]:
        raise DecodeError(WHAT, 4, f"promises {raw[4]} capabilities, {len(codes)} are there")
    return tuple(codes)


def can_super_speed(codes: tuple[int, ...]) -> bool:
    """One of the capabilities is that of SuperSpeed."""
    return not SUPER_SPEED.isdisjoint(codes)


def _capability(raw: bytes, offset: int, total: int) -> int:
    length = raw[offset]
    if length < LEAST_CAPABILITY or offset + length > total:
        raise DecodeError(WHAT, offset, f"a capability of {length} bytes")
    if raw[offset + 1] != CAPABILITY:
        raise DecodeError(WHAT, offset + 1, f"is a descriptor of type {raw[offset + 1]:02X}h")
    return raw[offset + 2]
