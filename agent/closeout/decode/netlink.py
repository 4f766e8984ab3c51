"""Netlink messages and attributes: bytes to objects, and objects to bytes.

Layouts: include/uapi/linux/netlink.h (nlmsghdr, nlmsgerr, nlattr) and genetlink.h (genlmsghdr);
the rules are in Documentation/userspace-api/netlink/intro.rst. Numbers stand in the byte order of
the machine, which is little-endian wherever this program runs.
"""

from __future__ import annotations

import struct
from collections.abc import Iterable, Iterator, Mapping
from typing import Final

from closeout.decode.failure import DecodeError
from closeout.model.frozen import frozen

HEADER: Final = struct.Struct("<IHHII")
GENERIC_HEADER: Final = struct.Struct("<BBH")
ATTRIBUTE: Final = struct.Struct("<HH")
ATTRIBUTE_KIND: Final = 0x3FFF
"""Of an attribute's type field; the two bits above it say "nested" and "network order"."""
ERROR: Final = 2
DONE: Final = 3
RESULT: Final = struct.Struct("<i")
MESSAGE_WORDS: Final = "netlink message"
ATTRIBUTE_WORDS: Final = "netlink attribute"


@frozen
class Message:
    """One message: `kind` is ERROR, DONE, or the number of a family."""

    kind: int
    flags: int
    sequence: int
    body: bytes


@frozen
class Attribute:
    """One attribute; its value may hold attributes again."""

    kind: int
    value: bytes


def decode_messages(raw: bytes) -> tuple[Message, ...]:
    """Every message; raises DecodeError where one is cut off or says a wrong length."""
    return tuple(
        Message(kind=kind, flags=flags, sequence=sequence, body=raw[offset + HEADER.size : end])
        for offset, end, (_, kind, flags, sequence, _) in _parts(raw, HEADER, MESSAGE_WORDS)
    )


def decode_attributes(raw: bytes) -> tuple[Attribute, ...]:
    """Every attribute in order; raises DecodeError where one is cut off or of a wrong length."""
    return tuple(
        Attribute(kind=kind & ATTRIBUTE_KIND, value=raw[offset + ATTRIBUTE.size : end])
        for offset, end, (_, kind) in _parts(raw, ATTRIBUTE, ATTRIBUTE_WORDS)
    )


def decode_generic(body: bytes) -> Mapping[int, bytes]:
    """The attributes of a generic family's message by kind; the last of a kind counts."""
    if len(body) < GENERIC_HEADER.size:
        raise DecodeError("generic netlink header", len(body), "is cut off")
    return by_kind(decode_attributes(body[GENERIC_HEADER.size :]))


def by_kind(attributes: Iterable[Attribute]) -> Mapping[int, bytes]:
    """Values by kind; the last of a kind counts, as in the kernel."""
    return {attribute.kind: attribute.value for attribute in attributes}


def decode_result(message: Message) -> int:
    """The errno that an ERROR or DONE message carries; 0 where all is well or none is given."""
    if len(message.body) < RESULT.size:
        return 0
    (result,) = RESULT.unpack_from(message.body)
    return -int(result) if result < 0 else 0


def encode_message(message: Message) -> bytes:
    """The bytes of one message from us, padded to four."""
    length = HEADER.size + len(message.body)
    head = HEADER.pack(length, message.kind, message.flags, message.sequence, 0)
    return _padded(head + message.body)


def encode_generic(command: int, attributes: Iterable[Attribute]) -> bytes:
    """The body of a generic family's message, in version 1 of the family."""
    return GENERIC_HEADER.pack(command, 1, 0) + encode_attributes(attributes)


def encode_attributes(attributes: Iterable[Attribute]) -> bytes:
    """Attributes one after the other, each padded to four."""
    return b"".join(
        _padded(
            ATTRIBUTE.pack(ATTRIBUTE.size + len(attribute.value), attribute.kind) + attribute.value
        )
        for attribute in attributes
    )


def _parts(
    raw: bytes, head: struct.Struct, what: str
) -> Iterator[tuple[int, int, tuple[int, ...]]]:
    """Where each part begins and ends, with its header, whose first field is its length."""
    offset = 0
    while offset < len(raw):
        if len(raw) - offset < head.size:
            raise DecodeError(what, offset, "its header is cut off")
        fields = head.unpack_from(raw, offset)
        length = fields[0]
        if not head.size <= length <= len(raw) - offset:
            left = len(raw) - offset
            raise DecodeError(what, offset, f"says {length} bytes; {left} are there")
        yield offset, offset + length, fields
        offset += _aligned(length)


def _aligned(length: int) -> int:
    return (length + 3) & ~3


def _padded(part: bytes) -> bytes:
    return part.ljust(_aligned(len(part)), b"\0")
