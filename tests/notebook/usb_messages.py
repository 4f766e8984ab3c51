"""What the two sides of the USB redirection protocol say: one record for each type of packet.

Source: "USB Network Redirection protocol description", version 0.7 (usbredir,
usb-redirection-protocol.md); each record names its section and has the fields of its layout in the
layout's order, little-endian. What depends on a capability is there, since both sides have
`CAPABILITIES`.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import IntEnum
from struct import Struct
from typing import ClassVar, Final

TABLE_LINES: Final = 32
"""Interfaces and endpoints come in tables of this many lines, column after column."""


class Capability(IntEnum):
    """Bits of the hello (section usb_redir_hello)."""

    BULK_STREAMS = 0
    DEVICE_VERSION = 1
    FILTER = 2
    DISCONNECT_ACK = 3
    PACKET_SIZES = 4
    WIDE_IDS = 5
    WIDE_BULK_LENGTH = 6
    BULK_RECEIVING = 7


CAPABILITIES: Final = sum(
    1 << capability
    for capability in (
        Capability.DEVICE_VERSION,
        Capability.PACKET_SIZES,
        Capability.WIDE_IDS,
        Capability.WIDE_BULK_LENGTH,
    )
)
"""What both sides have here; an xHCI controller takes no device without the last three."""


class Status(IntEnum):
    """How a request ended (section "Status code list")."""

    SUCCESS = 0
    CANCELLED = 1
    INVALID = 2
    IO_ERROR = 3
    STALL = 4
    TIMEOUT = 5
    BABBLE = 6


class Speed(IntEnum):
    """Section usb_redir_device_connect."""

    LOW = 0
    FULL = 1
    HIGH = 2
    SUPER = 3


class Transfer(IntEnum):
    """How an endpoint transfers, as in USB 2.0, table 9-13; NONE in a table of endpoints."""

    CONTROL = 0
    ISO = 1
    BULK = 2
    INTERRUPT = 3
    NONE = 255


@dataclass(frozen=True, slots=True, kw_only=True)
class Message:
    """What a packet says; `payload`, where there is one, stands behind the layout."""

    TYPE: ClassVar[int]
    LAYOUT: ClassVar[Struct] = Struct("")


@dataclass(frozen=True, slots=True, kw_only=True)
class Hello(Message):
    """Section usb_redir_hello; the capabilities are bits, and only the first 32 are known."""

    TYPE = 0
    LAYOUT = Struct("<64sI")
    version: bytes
    capabilities: int


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceConnect(Message):
    """Section usb_redir_device_connect."""

    TYPE = 1
    LAYOUT = Struct("<BBBBHHH")
    speed: int
    device_class: int
    device_subclass: int
    device_protocol: int
    vendor: int
    product: int
    version: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Reset(Message):
    """Section usb_redir_reset."""

    TYPE = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class InterfaceInfo(Message):
    """Section usb_redir_interface_info."""

    TYPE = 4
    LAYOUT = Struct("<I32s32s32s32s")
    count: int
    numbers: bytes
    classes: bytes
    subclasses: bytes
    protocols: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class EndpointInfo(Message):
    """Section usb_redir_ep_info: a line for each endpoint, 0-15 out, then 0-15 in."""

    TYPE = 5
    LAYOUT = Struct("<32s32s32s64s")
    transfers: bytes
    intervals: bytes
    interfaces: bytes
    sizes: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class SetConfiguration(Message):
    """Section usb_redir_set_configuration."""

    TYPE = 6
    LAYOUT = Struct("<B")
    configuration: int


@dataclass(frozen=True, slots=True, kw_only=True)
class GetConfiguration(Message):
    """Section usb_redir_get_configuration."""

    TYPE = 7


@dataclass(frozen=True, slots=True, kw_only=True)
class ConfigurationStatus(Message):
    """Section usb_redir_configuration_status."""

    TYPE = 8
    LAYOUT = Struct("<BB")
    status: int
    configuration: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SetAlternate(Message):
    """Section usb_redir_set_alt_setting."""

    TYPE = 9
    LAYOUT = Struct("<BB")
    interface: int
    alternate: int


@dataclass(frozen=True, slots=True, kw_only=True)
class GetAlternate(Message):
    """Section usb_redir_get_alt_setting."""

    TYPE = 10
    LAYOUT = Struct("<B")
    interface: int


@dataclass(frozen=True, slots=True, kw_only=True)
class AlternateStatus(Message):
    """Section usb_redir_alt_setting_status."""

    TYPE = 11
    LAYOUT = Struct("<BBB")
    status: int
    interface: int
    alternate: int


@dataclass(frozen=True, slots=True, kw_only=True)
class StartIso(Message):
    """Section usb_redir_start_iso_stream."""

    TYPE = 12
    LAYOUT = Struct("<BBB")
    endpoint: int
    packets: int
    requests: int


@dataclass(frozen=True, slots=True, kw_only=True)
class StopIso(Message):
    """Section usb_redir_stop_iso_stream."""

    TYPE = 13
    LAYOUT = Struct("<B")
    endpoint: int


@dataclass(frozen=True, slots=True, kw_only=True)
class IsoStatus(Message):
    """Section usb_redir_iso_stream_status."""

    TYPE = 14
    LAYOUT = Struct("<BB")
    status: int
    endpoint: int


@dataclass(frozen=True, slots=True, kw_only=True)
class StartInterrupt(Message):
    """Section usb_redir_start_interrupt_receiving."""

    TYPE = 15
    LAYOUT = Struct("<B")
    endpoint: int


@dataclass(frozen=True, slots=True, kw_only=True)
class StopInterrupt(Message):
    """Section usb_redir_stop_interrupt_receiving."""

    TYPE = 16
    LAYOUT = Struct("<B")
    endpoint: int


@dataclass(frozen=True, slots=True, kw_only=True)
class InterruptStatus(Message):
    """Section usb_redir_interrupt_receiving_status."""

    TYPE = 17
    LAYOUT = Struct("<BB")
    status: int
    endpoint: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Cancel(Message):
    """Section usb_redir_cancel_data_packet; the packet's id says which transfer."""

    TYPE = 21


@dataclass(frozen=True, slots=True, kw_only=True)
class Control(Message):
    """Section usb_redir_control_packet; the fields of USB 2.0, table 9-2."""

    TYPE = 100
    LAYOUT = Struct("<BBBBHHH")
    endpoint: int
    request: int
    request_type: int
    status: int = Status.SUCCESS
    value: int
    index: int
    length: int
    payload: bytes = b""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bulk(Message):
    """Section usb_redir_bulk_packet, the length in two halves."""

    TYPE = 101
    LAYOUT = Struct("<BBHIH")
    endpoint: int
    status: int = Status.SUCCESS
    length_low: int
    stream: int = 0
    length_high: int = 0
    payload: bytes = b""

    @property
    def length(self) -> int:
        """What is asked for, or was done."""
        return self.length_high << 16 | self.length_low


@dataclass(frozen=True, slots=True, kw_only=True)
class Iso(Message):
    """Section usb_redir_iso_packet."""

    TYPE = 102
    LAYOUT = Struct("<BBH")
    endpoint: int
    status: int = Status.SUCCESS
    length: int
    payload: bytes = b""


@dataclass(frozen=True, slots=True, kw_only=True)
class Interrupt(Message):
    """Section usb_redir_interrupt_packet."""

    TYPE = 103
    LAYOUT = Struct("<BBH")
    endpoint: int
    status: int = Status.SUCCESS
    length: int
    payload: bytes = b""


KINDS: Final[tuple[type[Message], ...]] = (
    Hello,
    DeviceConnect,
    Reset,
    InterfaceInfo,
    EndpointInfo,
    SetConfiguration,
    GetConfiguration,
    ConfigurationStatus,
    SetAlternate,
    GetAlternate,
    AlternateStatus,
    StartIso,
    StopIso,
    IsoStatus,
    StartInterrupt,
    StopInterrupt,
    InterruptStatus,
    Cancel,
    Control,
    Bulk,
    Iso,
    Interrupt,
)


def table_column(cells: Sequence[int]) -> bytes:
    """A column of a table: a byte in each of its lines, 0 in those that are not used."""
    return bytes(cells).ljust(TABLE_LINES, b"\0")


def endpoint_line(address: int) -> int:
    """The line of an endpoint in the table of endpoints."""
    return (address & 0x0F) + (16 if address & 0x80 else 0)
