"""The air around the radio, with one access point in it that can be found.

A process stands for the medium (drivers/net/wireless/virtual/mac80211_hwsim.h, "Frame transmission
support"): it gets each frame that the radio sends, and answers a question for networks as an access
point does. So there is no second radio in the guest. Frames: IEEE 802.11-2020, 9.3.3 and 9.4.2.
"""

import os
import struct
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from background import leave_behind
from netlink import REQUEST, GenericNetlink, decode_command
from radio import FAMILY, address_bytes

REGISTER, FRAME_SENT, FRAME_OUTCOME = 1, 2, 3
RECEIVER, TRANSMITTER, FRAME, FLAGS, RATE, SIGNAL, TRIES, COOKIE = range(1, 9)
NUMBER: Final = Path("/run/notebook/access-point.pid")
"""The process that serves it."""
FREQUENCY: Final = 19
WAS_RECEIVED: Final = 4

HEADER: Final = struct.Struct("<HH6s6s6sH")
PROBE_REQUEST: Final = 0x0040
PROBE_RESPONSE: Final = 0x0050
FIXED_FIELDS: Final = struct.Struct("<QHH")
BEACON_INTERVAL: Final = 100
IS_NETWORK: Final = 1
SSID, RATES, CHANNEL = 0, 1, 3
BASIC_RATES: Final = bytes([0x82, 0x84, 0x8B, 0x96])
"""1, 2, 5.5 and 11 Mbit/s, in halves of a Mbit/s with the bit for "basic"."""
HURRY: Final = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class AccessPoint:
    """An open network on a channel of the 2.4 GHz band."""

    ssid: str
    channel: int
    address: bytes
    signal_dbm: int

    @property
    def megahertz(self) -> int:
        """The middle of its channel, 1 to 13."""
        return 2407 + 5 * self.channel

    def response(self, request: bytes) -> bytes | None:
        """The probe response, if the frame asks for this network or for any."""
        if len(request) < HEADER.size + 2:
            return None
        control, _, _, asker, _, _ = HEADER.unpack_from(request)
        length = request[HEADER.size + 1]
        asked = request[HEADER.size + 2 :][:length]
        is_question = control == PROBE_REQUEST and request[HEADER.size] == SSID
        if not is_question or asked not in {b"", self.ssid.encode()}:
            return None
        header = HEADER.pack(PROBE_RESPONSE, 0, asker, self.address, self.address, 0)
        return header + FIXED_FIELDS.pack(0, BEACON_INTERVAL, IS_NETWORK) + self._elements()

    def _elements(self) -> bytes:
        elements = ((SSID, self.ssid.encode()), (RATES, BASIC_RATES), (CHANNEL, [self.channel]))
        return b"".join(bytes([kind, len(value), *value]) for kind, value in elements)


def read_plan(plan: Mapping[str, Any]) -> AccessPoint:
    """The planned access point."""
    return AccessPoint(
        ssid=plan["ssid"],
        channel=plan["channel"],
        address=address_bytes(plan["address"]),
        signal_dbm=plan["signal_dbm"],
    )


def make_access_point(plan: Mapping[str, Any]) -> str:
    """The name of its network; a process of its own stays behind and is the air."""
    netlink = GenericNetlink()
    family = netlink.family(FAMILY)
    netlink.request(family, REGISTER, {})
    point = read_plan(plan)
    leave_behind(lambda: serve(netlink, family, point), NUMBER)
    netlink.close()
    return point.ssid


def serve(netlink: GenericNetlink, family: int, point: AccessPoint) -> None:
    """Answers for ever."""
    # A scan stays on a channel for some thirty milliseconds only.
    os.sched_setscheduler(0, os.SCHED_FIFO, os.sched_param(HURRY))
    while True:
        for message in netlink.receive():
            # Acknowledgements and the kernel's own news are of no interest here.
            if message.kind != family:
                continue
            command = decode_command(message.body)
            if command.number == FRAME_SENT:
                for number, attributes in answers(command.attributes, point):
                    with suppress(OSError):
                        netlink.send(family, number, attributes, flags=REQUEST)


def answers(
    sent: Mapping[int, bytes], point: AccessPoint
) -> tuple[tuple[int, Mapping[int, bytes]], ...]:
    """What the kernel is told about a frame of the radio: what comes back, and how it fared."""
    frame, radio = sent[FRAME], sent[TRANSMITTER]
    outcome = (FRAME_OUTCOME, outcome_attributes(sent, arrived=frame[4:10] == point.address))
    is_heard = struct.unpack("=I", sent[FREQUENCY]) == (point.megahertz,)
    response = point.response(frame) if is_heard else None
    if response is None:
        return (outcome,)
    return (FRAME_SENT, frame_attributes(response, radio, point)), outcome


def frame_attributes(frame: bytes, radio: bytes, point: AccessPoint) -> dict[int, bytes]:
    """A frame that the radio receives."""
    return {
        RECEIVER: radio,
        FRAME: frame,
        RATE: struct.pack("=I", 0),
        SIGNAL: struct.pack("=i", point.signal_dbm),
        FREQUENCY: struct.pack("=I", point.megahertz),
    }


def outcome_attributes(sent: Mapping[int, bytes], *, arrived: bool) -> dict[int, bytes]:
    """What became of a frame that the radio sent."""
    (flags,) = struct.unpack("=I", sent[FLAGS])
    return {
        TRANSMITTER: sent[TRANSMITTER],
        FLAGS: struct.pack("=I", flags | (WAS_RECEIVED if arrived else 0)),
        SIGNAL: struct.pack("=i", 0),
        TRIES: sent[TRIES],
        COOKIE: sent[COOKIE],
    }
