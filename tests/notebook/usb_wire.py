"""A stream of packets of the USB redirection protocol, out of bytes and into bytes.

Source: "USB Network Redirection protocol description", version 0.7 (usbredir,
usb-redirection-protocol.md), section "Basic packet structure / communication": a header (type,
length, id), the fields of the type, the data of a transfer. Each side begins with a hello, whose id
has 32 bits; every later one has 64, since both sides are able to.
"""

from collections.abc import Iterator
from dataclasses import dataclass, fields
from struct import Struct
from typing import Final

from notebook.usb_messages import KINDS, Bulk, Control, Hello, Interrupt, Iso, Message

NARROW: Final = Struct("<III")
WIDE: Final = Struct("<IIQ")
LONGEST: Final = 1 << 20
"""No transfer of a notebook's device is longer: who announces more speaks another language."""
BY_TYPE: Final = {kind.TYPE: kind for kind in KINDS}


class WireError(ValueError):
    """Bytes that are no packet of this protocol."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Packet:
    """A message with the id that ties an answer to its request; 0 where nobody asked."""

    message: Message
    id: int = 0


def encode_packet(packet: Packet) -> bytes:
    """The bytes of a packet; a hello has the narrow header."""
    message = packet.message
    told = {field.name: getattr(message, field.name) for field in fields(message)}
    payload: bytes = told.pop("payload", b"")
    body = message.LAYOUT.pack(*told.values()) + payload
    header = NARROW if isinstance(message, Hello) else WIDE
    return header.pack(message.TYPE, len(body), packet.id) + body


def decode_message(number: int, body: bytes) -> Message:
    """The record of that type; WireError where type or length is not one of the protocol's."""
    if number not in BY_TYPE:
        raise WireError(f"a packet of type {number}, which is unknown")
    kind = BY_TYPE[number]
    size = kind.LAYOUT.size
    if len(body) < size:
        raise WireError(f"{kind.__name__} in {len(body)} bytes, {size} are its fields")
    names = [field.name for field in fields(kind)]
    told = dict(zip(names, (*kind.LAYOUT.unpack(body[:size]), body[size:]), strict=False))
    message = kind(**told)
    _check_rest(message, len(body) - size)
    return message


def _check_rest(message: Message, found: int) -> None:
    """Data go in one direction: all that is announced, or none; other types have none.

    A hello may have more words, with capabilities of later versions.
    """
    announced = 0
    if isinstance(message, Control | Bulk | Iso | Interrupt):
        announced = message.length
    if found not in {0, announced} and not isinstance(message, Hello):
        raise WireError(f"{type(message).__name__} with {found} bytes of data, not {announced}")


class PacketReader:
    """Cuts a stream into packets, however its bytes arrive."""

    def __init__(self) -> None:
        self._raw = bytearray()
        self._begun = False

    def read(self, raw: bytes) -> Iterator[Packet]:
        """Every packet that is complete with these bytes; WireError at the first that is none.

        A stream that does not begin with a hello goes on with an earlier conversation: a guest
        that was restored from a snapshot.
        """
        self._raw += raw
        while (packet := self._next()) is not None:
            yield packet

    def _next(self) -> Packet | None:
        if len(self._raw) < WIDE.size:
            return None  # a hello alone has the narrow header, and 64 bytes behind it
        first = int.from_bytes(self._raw[:4], "little")
        header = NARROW if first == Hello.TYPE else WIDE
        number, length, identity = header.unpack_from(self._raw)
        if length > LONGEST or (number == Hello.TYPE and self._begun):
            raise WireError(f"type {number} with a length of {length} at this place")
        end = header.size + length
        if len(self._raw) < end:
            return None
        body = bytes(self._raw[header.size : end])
        del self._raw[:end]
        self._begun = True
        return Packet(id=identity, message=decode_message(number, body))
