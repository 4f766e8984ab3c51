"""Netlink messages built byte by byte (include/uapi/linux/netlink.h, genetlink.h, nl80211.h)."""

import struct
from collections.abc import Iterable

NESTED = 0x8000
FAMILY = 0x23


def attribute(kind: int, value: bytes) -> bytes:
    """One attribute, padded to four."""
    length = 4 + len(value)
    return struct.pack("<HH", length, kind) + value + bytes(-length % 4)


def number(kind: int, told: int) -> bytes:
    """An attribute of 32 bits."""
    return attribute(kind, struct.pack("<I", told))


def message(kind: int, body: bytes, *, sequence: int = 0, flags: int = 2) -> bytes:
    """One message, padded to four."""
    head = struct.pack("<IHHII", 16 + len(body), kind, flags, sequence, 0)
    return head + body + bytes(-len(body) % 4)


def generic(command: int, attributes: bytes) -> bytes:
    """The body of a generic family's message."""
    return struct.pack("<BBH", command, 1, 0) + attributes


def done(*, sequence: int = 0, error: int = 0) -> bytes:
    """The end of a dump."""
    return message(3, struct.pack("<i", -error), sequence=sequence)


def rule(start_khz: int, end_khz: int, flags: int = 0) -> bytes:
    """The attributes of one radio rule."""
    return number(1, flags) + number(2, start_khz) + number(3, end_khz)


def domain(country: str, rules: Iterable[bytes] = (), radio: int | None = None) -> bytes:
    """One message of a dump of radio rules."""
    nested = b"".join(attribute(NESTED | index, told) for index, told in enumerate(rules))
    attributes = attribute(33, country.encode() + b"\0")
    if radio is not None:
        attributes = number(1, radio) + attributes + attribute(216, b"")
    return message(FAMILY, generic(31, attributes + attribute(NESTED | 34, nested)))
