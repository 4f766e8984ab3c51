"""A device driven as the emulator drives it: hello, requests, settings, commands, a stream."""

from dataclasses import replace
from typing import Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from notebook.description import UsbDevice, load_notebook
from notebook.usb_bluetooth import RETURNS, command_answered
from notebook.usb_descriptors import descriptor
from notebook.usb_messages import (
    CAPABILITIES,
    AlternateStatus,
    Bulk,
    Cancel,
    ConfigurationStatus,
    Control,
    DeviceConnect,
    EndpointInfo,
    GetAlternate,
    GetConfiguration,
    Hello,
    InterfaceInfo,
    Interrupt,
    InterruptStatus,
    Iso,
    IsoStatus,
    Message,
    Reset,
    SetAlternate,
    SetConfiguration,
    StartInterrupt,
    StartIso,
    Status,
    StopInterrupt,
    StopIso,
    Transfer,
    endpoint_line,
)
from notebook.usb_peripheral import Peripheral
from notebook.usb_video import PROBE_ANSWER, STREAM_PACKET
from notebook.usb_wire import Packet, PacketReader, WireError, encode_packet

DEVICES: Final = load_notebook("fen-14").usb
READER: Final = DEVICES["fingerprint"]
CAMERA: Final = DEVICES["camera"]
RADIO: Final = DEVICES["bluetooth"]
HELLO: Final = Hello(version=b"emulator", capabilities=0xFB)
STATUS_UNUSED: Final = 0xF5
"""The emulator does not blank the status of its requests."""


class Emulator:
    """The other side of a peripheral."""

    def __init__(self, device: UsbDevice) -> None:
        self._peripheral = Peripheral(device)
        self._reader = PacketReader()
        self.identity = 0

    def says(self, message: Message) -> list[Packet]:
        """What the device answers."""
        self.identity += 1
        raw = encode_packet(Packet(message=message, id=self.identity))
        return list(self._reader.read(self._peripheral.receive(raw)))

    def tells(self, message: Message) -> list[Message]:
        """What the device answers, without the ids."""
        return [packet.message for packet in self.says(message)]

    def asks(self, request: int, value: int, index: int = 0, length: int = 255) -> Control:
        """The answer to a standard request for the device."""
        wish = control(0x80, request, value, index=index, length=length)
        (packet,) = self.says(wish)
        assert packet.id == self.identity
        assert isinstance(packet.message, Control)
        return packet.message

    def takes(self, packets: int) -> list[Message]:
        """The next packets of the stream."""
        return [packet.message for packet in self._reader.read(self._peripheral.stream(packets))]


def control(
    request_type: int, request: int, value: int = 0, *, index: int = 0, length: int = 0
) -> Control:
    """A request without data."""
    return Control(
        endpoint=request_type & 0x80,
        request=request,
        request_type=request_type,
        status=STATUS_UNUSED,
        value=value,
        index=index,
        length=length,
    )


def command(*octets: int) -> Control:
    """A command to a Bluetooth controller."""
    return replace(control(0x20, 0, length=len(octets)), payload=bytes(octets))


def plugged(device: UsbDevice) -> Emulator:
    emulator = Emulator(device)
    emulator.says(HELLO)
    return emulator


@pytest.mark.parametrize("device", DEVICES.values(), ids=DEVICES)
def test_a_device_introduces_itself(device: UsbDevice) -> None:
    hello, endpoints, interfaces, connect = Emulator(device).tells(HELLO)
    assert isinstance(hello, Hello)
    assert hello.capabilities == CAPABILITIES
    assert isinstance(endpoints, EndpointInfo)
    assert isinstance(interfaces, InterfaceInfo)
    assert isinstance(connect, DeviceConnect)
    assert f"{connect.vendor:04x}:{connect.product:04x}" == device.ids
    assert connect.speed == 2


def test_an_emulator_without_the_capabilities_is_refused() -> None:
    with pytest.raises(WireError, match="capabilities 0x12 only"):
        Emulator(READER).says(replace(HELLO, capabilities=0x12))


def test_endpoints_of_a_radio_in_the_table() -> None:
    table = Emulator(RADIO).tells(HELLO)[1]
    assert isinstance(table, EndpointInfo)
    used = {line: each for line, each in enumerate(table.transfers) if each != Transfer.NONE}
    assert used == {
        0: Transfer.CONTROL,
        2: Transfer.BULK,
        16: Transfer.CONTROL,
        17: Transfer.INTERRUPT,
        18: Transfer.BULK,
    }
    assert table.intervals[17] > 0
    assert table.sizes[2 * 18 : 2 * 18 + 2] == (512).to_bytes(2, "little")


@pytest.mark.parametrize("device", DEVICES.values(), ids=DEVICES)
@pytest.mark.parametrize("value", [0x0100, 0x0200, 0x0300, 0x0301, 0x0302, 0x0303])
@pytest.mark.parametrize("length", [8, 255])
def test_every_descriptor_is_given(device: UsbDevice, value: int, length: int) -> None:
    answer = plugged(device).asks(6, value, length=length)
    whole = descriptor(device, value >> 8, value & 0xFF)
    assert whole is not None
    assert answer.status == Status.SUCCESS
    assert answer.payload == whole[:length]
    assert answer.length == len(answer.payload)


@pytest.mark.parametrize("value", [0x0600, 0x0700, 0x0F00, 0x0304, 0x0201])
def test_a_descriptor_that_is_not_there_stalls(value: int) -> None:
    answer = plugged(READER).asks(6, value)
    assert (answer.status, answer.length, answer.payload) == (Status.STALL, 0, b"")


def test_status_and_features() -> None:
    emulator = plugged(READER)
    assert emulator.asks(0, 0, length=2).payload == bytes(2)
    assert emulator.tells(control(0x02, 1, index=0x81)) == [
        replace(control(0x02, 1, index=0x81), status=Status.SUCCESS)
    ]
    assert emulator.asks(0x55, 0).status == Status.STALL


@pytest.mark.parametrize("request_type", [0x40, 0xC0, 0xA1])
def test_requests_that_a_reader_does_not_know_stall(request_type: int) -> None:
    (answer,) = plugged(READER).tells(control(request_type, 1))
    assert isinstance(answer, Control)
    assert answer.status == Status.STALL


def test_a_configuration_is_chosen() -> None:
    emulator = plugged(READER)
    *tables, status = emulator.says(SetConfiguration(configuration=1))
    assert [type(table.message) for table in tables] == [EndpointInfo, InterfaceInfo]
    assert status == Packet(
        id=emulator.identity, message=ConfigurationStatus(status=0, configuration=1)
    )
    assert emulator.tells(SetConfiguration(configuration=2)) == [
        ConfigurationStatus(status=Status.STALL, configuration=1)
    ]
    assert emulator.tells(SetConfiguration(configuration=0))[-1] == ConfigurationStatus(
        status=0, configuration=0
    )
    assert emulator.tells(GetConfiguration()) == [ConfigurationStatus(status=0, configuration=0)]


def test_a_read_waits_until_it_is_cancelled() -> None:
    emulator = plugged(RADIO)
    read = Bulk(endpoint=0x82, status=STATUS_UNUSED, length_low=1028)
    assert emulator.tells(read) == []
    emulator.identity -= 1
    cancelled = replace(read, status=Status.CANCELLED, length_low=0)
    assert emulator.says(Cancel()) == [Packet(id=emulator.identity, message=cancelled)]
    emulator.identity -= 1
    assert emulator.says(Cancel()) == []


def test_a_request_that_was_answered_cannot_be_cancelled() -> None:
    emulator = plugged(READER)
    emulator.asks(0, 0)
    emulator.identity -= 1
    assert emulator.says(Cancel()) == []


def test_what_is_written_is_taken() -> None:
    written = Bulk(endpoint=0x02, status=STATUS_UNUSED, length_low=3, payload=b"abc")
    (answer,) = plugged(RADIO).tells(written)
    assert answer == Bulk(endpoint=0x02, length_low=3)


def test_a_radio_comes_up() -> None:
    emulator = plugged(RADIO)
    emulator.tells(SetConfiguration(configuration=1))
    assert emulator.tells(StartInterrupt(endpoint=0x81)) == [
        InterruptStatus(status=0, endpoint=0x81)
    ]
    done, event = emulator.tells(command(0x03, 0x0C, 0))
    assert isinstance(done, Control)
    assert (done.status, done.length, done.payload) == (Status.SUCCESS, 3, b"")
    assert event == Interrupt(endpoint=0x81, length=6, payload=bytes.fromhex("0e0401030c00"))
    _, event = emulator.tells(command(0x09, 0x10, 0))
    assert isinstance(event, Interrupt)
    assert event.payload == bytes.fromhex("0e0a01091000") + bytes.fromhex("4208319f1a3c")


def test_events_wait_until_they_are_asked_for() -> None:
    emulator = plugged(RADIO)
    assert len(emulator.tells(command(0x03, 0x0C, 0))) == 1
    assert [type(told) for told in emulator.tells(StartInterrupt(endpoint=0x81))] == [
        InterruptStatus,
        Interrupt,
    ]
    assert len(emulator.tells(command(0x03, 0x0C, 0))) == 2
    emulator.tells(StopInterrupt(endpoint=0x81))
    assert len(emulator.tells(command(0x03, 0x0C, 0))) == 1


@pytest.mark.parametrize("opcode", [*RETURNS, 0x1009, 0x0C1A, 0xFC01])
def test_an_event_is_whole_in_its_pieces(opcode: int) -> None:
    pieces = list(command_answered(RADIO, opcode.to_bytes(2, "little") + b"\0"))
    event = b"".join(pieces)
    assert all(len(piece) == 64 for piece in pieces[:-1])
    assert event[0] == 0x0E
    assert event[1] == len(event) - 2
    assert event[3:5] == opcode.to_bytes(2, "little")
    known = opcode in RETURNS or opcode == 0x1009
    assert event[5] == (0 if known else 1)


@pytest.mark.parametrize(
    "octets", [b"", b"\x03", b"\x03\x0c", b"\x03\x0c\x01", b"\x03\x0c\x00\x00"]
)
def test_half_a_command_has_no_answer(octets: bytes) -> None:
    assert list(command_answered(RADIO, octets)) == []


def test_a_camera_negotiates_and_streams() -> None:
    emulator = plugged(CAMERA)
    assert emulator.takes(10) == []
    (answer,) = emulator.tells(control(0xA1, 0x81, 0x0100, index=1, length=34))
    assert isinstance(answer, Control)
    assert answer.payload == PROBE_ANSWER
    (answer,) = emulator.tells(
        replace(control(0x21, 0x01, 0x0200, index=1, length=34), payload=bytes(34))
    )
    assert isinstance(answer, Control)
    assert (answer.status, answer.length) == (Status.SUCCESS, 34)
    start = StartIso(endpoint=0x81, packets=2, requests=2)
    assert emulator.tells(start) == [IsoStatus(status=Status.STALL, endpoint=0x81)]
    table, _, status = emulator.tells(SetAlternate(interface=1, alternate=1))
    assert status == AlternateStatus(status=0, interface=1, alternate=1)
    assert isinstance(table, EndpointInfo)
    assert table.transfers[endpoint_line(0x81)] == Transfer.ISO
    assert emulator.tells(start) == [IsoStatus(status=0, endpoint=0x81)]
    taken = emulator.takes(60)
    assert len(taken) == 60
    assert all(isinstance(each, Iso) and each.length <= STREAM_PACKET for each in taken)
    assert emulator.tells(StopIso(endpoint=0x81)) == [IsoStatus(status=0, endpoint=0x81)]
    assert emulator.takes(10) == []


@pytest.mark.parametrize(
    "end", [SetAlternate(interface=1, alternate=0), Reset(), SetConfiguration(configuration=1)]
)
def test_a_stream_ends_with_its_setting(end: Message) -> None:
    emulator = plugged(CAMERA)
    emulator.tells(SetAlternate(interface=1, alternate=1))
    emulator.tells(StartIso(endpoint=0x81, packets=2, requests=2))
    assert emulator.takes(1)
    emulator.tells(end)
    assert emulator.takes(1) == []
    assert emulator.tells(GetAlternate(interface=1)) == [
        AlternateStatus(status=0, interface=1, alternate=0)
    ]


def test_a_setting_that_is_not_there_stalls() -> None:
    assert plugged(CAMERA).tells(SetAlternate(interface=0, alternate=1)) == [
        AlternateStatus(status=Status.STALL, interface=0, alternate=0)
    ]


def test_a_guest_out_of_a_snapshot_goes_on() -> None:
    emulator = Emulator(RADIO)
    assert emulator.asks(6, 0x0200, length=300).payload == descriptor(RADIO, 2, 0)
    assert len(emulator.tells(command(0x03, 0x0C, 0))) == 2
    emulator.identity = 0x1000
    (cancelled,) = emulator.says(Cancel())
    assert cancelled.id == 0x1001
    assert isinstance(cancelled.message, Bulk)
    assert cancelled.message.status == Status.CANCELLED


@given(st.sampled_from(list(DEVICES.values())), st.binary(max_size=200), st.booleans())
def test_any_bytes_are_answered_or_refused(
    device: UsbDevice,
    raw: bytes,
    after_hello: bool,  # noqa: FBT001 - drawn by name
) -> None:
    peripheral = Peripheral(device)
    if after_hello:
        peripheral.receive(encode_packet(Packet(message=HELLO)))
    try:
        answer = peripheral.receive(raw)
    except WireError:
        return
    list(PacketReader().read(answer))


@pytest.mark.parametrize("message", [IsoStatus(status=0, endpoint=1), HELLO])
def test_what_only_a_device_says_is_refused(message: Message) -> None:
    emulator = plugged(READER)
    with pytest.raises(WireError):
        emulator.says(message)
