"""Questions about the network that no file answers: read-only, and open to every user.

- `net permanent-address NAME`: the address that the card was made with, or all zero
  (ETHTOOL_GPERMADDR, include/uapi/linux/ethtool.h; what `ethtool -P` asks).
- `bluetooth address hciN`: the address of a controller, or all zero (HCIGETDEVINFO,
  include/net/bluetooth/hci_sock.h).
- `nl80211 regulatory`: the messages of a dump of the radio rules in force (NL80211_CMD_GET_REG,
  include/uapi/linux/nl80211.h; what `iw reg get` asks).
"""

from __future__ import annotations

import ctypes
import errno
import fcntl
import re
import socket
import struct
from collections.abc import Callable, Iterator
from typing import Final

from closeout.decode.failure import DecodeError
from closeout.decode.netlink import (
    DONE,
    ERROR,
    Attribute,
    Message,
    decode_generic,
    decode_messages,
    decode_result,
    encode_generic,
    encode_message,
)
from closeout.kernel.failure import ReadError, Reason
from closeout.model.late_pattern import late_pattern

SIOCETHTOOL: Final = 0x8946
ETHTOOL_GPERMADDR: Final = 0x20
HCIGETDEVINFO: Final = 0x800448D3
MOST_OCTETS: Final = 32
"""MAX_ADDR_LEN."""
NAME_SIZE: Final = 16
"""IFNAMSIZ, its final NUL included."""
LARGE_ENOUGH: Final = 256
"""For struct hci_dev_info, which has 92 bytes."""
BLUETOOTH: Final = 31
HCI: Final = 1
GENERIC: Final = 16
"""AF_BLUETOOTH, BTPROTO_HCI, NETLINK_GENERIC; not every build of Python has names for them."""
CONTROL, GET_FAMILY, FAMILY_ID, FAMILY_NAME = 0x10, 3, 1, 2
"""The family that knows the others, and what it is asked (include/uapi/linux/genetlink.h)."""
GET_RULES: Final = 31
REQUEST, DUMP = 1, 0x300
DATAGRAM: Final = 65_536
MOST_DATAGRAMS: Final = 64
WAIT_SECONDS: Final = 3.0


def permanent_address(name: str) -> bytes:
    """The address of a network interface as it was made; OSError with the kernel's errno."""
    request = struct.pack("=II", ETHTOOL_GPERMADDR, MOST_OCTETS)
    answer = bytearray(request + bytes(MOST_OCTETS))
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as door:
        _exchange(door, name, answer)
    (size,) = struct.unpack_from("=I", answer, 4)
    return _spelt(bytes(answer[8 : 8 + min(size, MOST_OCTETS)]))


def bluetooth_address(name: str) -> bytes:
    """The address of a Bluetooth controller; OSError with the kernel's errno."""
    told = bytearray(struct.pack("=H", int(name.removeprefix("hci"))) + bytes(LARGE_ENOUGH))
    with socket.socket(BLUETOOTH, socket.SOCK_RAW, HCI) as door:
        fcntl.ioctl(door, HCIGETDEVINFO, told)
    return _spelt(bytes(reversed(told[10:16])))


def radio_rules(_: str) -> bytes:
    """The dump as it came, its end included; OSError with the kernel's errno."""
    with socket.socket(socket.AF_NETLINK, socket.SOCK_RAW, GENERIC) as door:
        door.settimeout(WAIT_SECONDS)
        door.bind((0, 0))
        named = [Attribute(kind=FAMILY_NAME, value=b"nl80211\0")]
        answer = b"".join(_conversation(door, CONTROL, encode_generic(GET_FAMILY, named), REQUEST))
        first = decode_messages(answer)[0]
        family = int.from_bytes(decode_generic(first.body)[FAMILY_ID], "little")
        return b"".join(_conversation(door, family, encode_generic(GET_RULES, []), REQUEST | DUMP))


QUESTIONS: Final[tuple[tuple[re.Pattern[str], Callable[[str], bytes]], ...]] = (
    (late_pattern(r"net permanent-address ([^\s/]{1,15})"), permanent_address),
    (late_pattern(r"bluetooth address (hci\d{1,4})"), bluetooth_address),
    (late_pattern(r"(nl80211) regulatory"), radio_rules),
)
"""All that can be asked; nothing that would change anything is among it."""


def is_network_question(question: str) -> bool:
    """One of the questions that `answer_network` knows."""
    return any(pattern.fullmatch(question) for pattern, _ in QUESTIONS)


def answer_network(question: str) -> bytes:
    """The kernel's answer to one of `QUESTIONS`.

    Raises:
        ReadError: NOT_OFFERED for any other question and where the kernel answers in no form
            that is known; else with the kernel's errno.
    """
    for pattern, ask in QUESTIONS:
        if match := pattern.fullmatch(question):
            try:
                return ask(match[1])
            except (DecodeError, LookupError, ValueError):
                raise ReadError(question, errno.EBADMSG) from None
            except OSError as failure:
                raise ReadError(question, failure.errno or errno.ETIMEDOUT) from None
    raise ReadError(question, errno.EOPNOTSUPP, Reason.NOT_OFFERED)


def _exchange(door: socket.socket, name: str, told: bytearray) -> None:
    """One `struct ifreq` with a pointer to what is told; the kernel writes its answer there."""
    block = (ctypes.c_char * len(told)).from_buffer(told)
    named = name.encode("utf-8", "surrogateescape")
    if len(named) >= NAME_SIZE:
        raise OSError(errno.ENODEV, "the name is too long for an interface")
    request = named.ljust(NAME_SIZE, b"\0") + struct.pack("P16x", ctypes.addressof(block))
    fcntl.ioctl(door, SIOCETHTOOL, request)


def _conversation(door: socket.socket, family: int, body: bytes, flags: int) -> Iterator[bytes]:
    """The datagrams that answer one request, to the last of a dump; OSError where it is refused."""
    asked = Message(kind=family, flags=flags, sequence=family, body=body)
    door.send(encode_message(asked))
    for _ in range(MOST_DATAGRAMS):
        datagram = door.recv(DATAGRAM)
        yield datagram
        messages = [one for one in decode_messages(datagram) if one.sequence == family]
        for message in messages:
            refusal = decode_result(message) if message.kind in {ERROR, DONE} else 0
            if refusal:
                raise OSError(refusal, "the kernel refuses")
        if any(one.kind == DONE for one in messages) or (messages and not flags & DUMP):
            return
    raise OSError(errno.EMSGSIZE, "the dump does not end")


def _spelt(address: bytes) -> bytes:
    return address.hex(":").encode() + b"\n"
