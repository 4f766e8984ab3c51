"""Generic netlink: messages as bytes, and the socket that asks the kernel with them.

Layouts: include/uapi/linux/netlink.h (nlmsghdr, nlmsgerr, nlattr), include/uapi/linux/genetlink.h
(genlmsghdr, the family "nlctrl"); the rules: Documentation/userspace-api/netlink/intro.rst.
"""

import os
import socket
import struct
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final

GENERIC: Final = 16
"""The netlink protocol; Python's socket module has no name for it."""
HEADER: Final = struct.Struct("=IHHII")
GENERIC_HEADER: Final = struct.Struct("=BBH")
ATTRIBUTE: Final = struct.Struct("=HH")
ATTRIBUTE_KIND: Final = 0x3FFF
"""Of an attribute's type field; the two bits above it say "nested" and "network order"."""
REQUEST: Final = 1
ACKNOWLEDGE: Final = 4
ERROR: Final = 2
CONTROL: Final = 0x10
"""The family that knows the others."""
GET_FAMILY: Final = 3
FAMILY_ID: Final = 1
FAMILY_NAME: Final = 2
LONGEST: Final = 65536

Attributes = Mapping[int, bytes]


class NetlinkError(ValueError):
    """Bytes that are no netlink message; the text says at which offset."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Message:
    """One message; `kind` is the family, or ERROR."""

    kind: int
    flags: int = REQUEST
    sequence: int = 0
    port: int = 0
    body: bytes = b""


@dataclass(frozen=True, slots=True, kw_only=True)
class Command:
    """What the body of a family's message says."""

    number: int
    attributes: Attributes
    version: int = 1


def encode_message(message: Message) -> bytes:
    """The bytes of one message, padded to four."""
    length = HEADER.size + len(message.body)
    head = HEADER.pack(length, message.kind, message.flags, message.sequence, message.port)
    return head + _padded(message.body)


def decode_messages(raw: bytes) -> Iterator[Message]:
    """Every message in what one datagram held."""
    offset = 0
    while offset < len(raw):
        if len(raw) - offset < HEADER.size:
            raise NetlinkError(f"a message header is cut off at {offset}")
        length, kind, flags, sequence, port = HEADER.unpack_from(raw, offset)
        if not HEADER.size <= length <= len(raw) - offset:
            raise NetlinkError(f"a message of {length} bytes at {offset}")
        body = raw[offset + HEADER.size : offset + length]
        yield Message(kind=kind, flags=flags, sequence=sequence, port=port, body=body)
        offset += _aligned(length)


def encode_command(command: Command) -> bytes:
    """The body of a family's message."""
    head = GENERIC_HEADER.pack(command.number, command.version, 0)
    return head + encode_attributes(command.attributes)


def decode_command(body: bytes) -> Command:
    """What a family's message says."""
    if len(body) < GENERIC_HEADER.size:
        raise NetlinkError("a command is cut off at 0")
    number, version, _ = GENERIC_HEADER.unpack_from(body)
    attributes = decode_attributes(body[GENERIC_HEADER.size :])
    return Command(number=number, version=version, attributes=attributes)


def encode_attributes(attributes: Attributes) -> bytes:
    """Attributes one after the other, each padded to four."""
    parts = (
        ATTRIBUTE.pack(ATTRIBUTE.size + len(value), kind) + _padded(value)
        for kind, value in attributes.items()
    )
    return b"".join(parts)


def decode_attributes(raw: bytes) -> dict[int, bytes]:
    """Attributes by their kind; the last of a kind counts, as in the kernel."""
    attributes = {}
    offset = 0
    while offset < len(raw):
        if len(raw) - offset < ATTRIBUTE.size:
            raise NetlinkError(f"an attribute header is cut off at {offset}")
        length, kind = ATTRIBUTE.unpack_from(raw, offset)
        if not ATTRIBUTE.size <= length <= len(raw) - offset:
            raise NetlinkError(f"an attribute of {length} bytes at {offset}")
        attributes[kind & ATTRIBUTE_KIND] = raw[offset + ATTRIBUTE.size : offset + length]
        offset += _aligned(length)
    return attributes


def decode_result(message: Message) -> int:
    """The number in an acknowledgement; OSError if it is a refusal."""
    if len(message.body) < 4:
        raise NetlinkError("an acknowledgement is cut off at 0")
    (result,) = struct.unpack_from("=i", message.body)
    if result < 0:
        raise OSError(-result, os.strerror(-result))
    return int(result)


class GenericNetlink:
    """A socket to the kernel's generic netlink families."""

    def __init__(self) -> None:
        self._socket = socket.socket(socket.AF_NETLINK, socket.SOCK_RAW, GENERIC)
        self._socket.bind((0, 0))
        self._sequence = 0

    def close(self) -> None:
        """Ends it; what lives as long as its socket goes with it."""
        self._socket.close()

    def family(self, name: str) -> int:
        """The number that the kernel gave to a family; OSError if there is none of that name."""
        asked = {FAMILY_NAME: name.encode() + b"\0"}
        sequence = self.send(CONTROL, GET_FAMILY, asked, flags=REQUEST)
        answer = self._answer(sequence)
        if answer.kind == ERROR:
            decode_result(answer)
        number = decode_command(answer.body).attributes[FAMILY_ID]
        return int.from_bytes(number, "little")

    def request(self, family: int, command: int, attributes: Attributes) -> int:
        """The number that the kernel acknowledges a command with; OSError if it refuses."""
        sequence = self.send(family, command, attributes, flags=REQUEST | ACKNOWLEDGE)
        return decode_result(self._answer(sequence))

    def send(self, family: int, command: int, attributes: Attributes, *, flags: int) -> int:
        """The sequence number under which a command was sent."""
        self._sequence += 1
        body = encode_command(Command(number=command, attributes=attributes))
        message = Message(kind=family, flags=flags, sequence=self._sequence, body=body)
        self._socket.send(encode_message(message))
        return self._sequence

    def receive(self) -> Iterable[Message]:
        """The messages that came next; waits for them."""
        return decode_messages(self._socket.recv(LONGEST))

    def _answer(self, sequence: int) -> Message:
        while True:
            for message in self.receive():
                if message.sequence == sequence:
                    return message


def _aligned(length: int) -> int:
    return (length + 3) & ~3


def _padded(value: bytes) -> bytes:
    return value.ljust(_aligned(len(value)), b"\0")
