"""The device's side of a USB redirection session: bytes in, bytes out, no clock and no socket.

Source: "USB Network Redirection protocol description", version 0.7. A session begins with the
emulator's hello. Where it begins with anything else the guest comes out of a snapshot: for it the
device has been there all the time, configured, with nothing streaming.
"""

from collections import deque
from collections.abc import Iterator
from dataclasses import replace
from itertools import chain, count, islice
from typing import Final

from notebook.description import UsbDevice
from notebook.usb_bluetooth import command_answered
from notebook.usb_descriptors import OUTLINES, RELEASE, device_ids
from notebook.usb_messages import (
    CAPABILITIES,
    Bulk,
    Cancel,
    Control,
    DeviceConnect,
    GetAlternate,
    GetConfiguration,
    Hello,
    Interrupt,
    InterruptStatus,
    Iso,
    IsoStatus,
    Message,
    Reset,
    SetAlternate,
    SetConfiguration,
    Speed,
    StartInterrupt,
    StartIso,
    Status,
    StopInterrupt,
    StopIso,
    Transfer,
)
from notebook.usb_requests import TOWARDS_HOST, answer_request, is_command, is_towards_host
from notebook.usb_settings import Settings
from notebook.usb_video import STREAM_ENDPOINT, picture_payloads
from notebook.usb_wire import Packet, PacketReader, WireError, encode_packet

EVENTS: Final = 0x81
"""The interrupt endpoint of a Bluetooth controller."""
READS: Final = 0x82
"""A bulk endpoint towards the host; which one is all the same for a read that is cancelled."""


class Peripheral:
    """One device in one session with an emulator."""

    def __init__(self, device: UsbDevice) -> None:
        self._device = device
        self._settings = Settings(OUTLINES[device.kind])
        self._reader = PacketReader()
        self._is_resumed = True
        self._listens = True
        self._events: deque[bytes] = deque()
        self._reads: dict[int, Bulk] = {}
        self._payloads = chain.from_iterable(picture_payloads(turn & 1) for turn in count())
        self.streams = False
        """There is always something to take from `stream`."""

    def receive(self, raw: bytes) -> bytes:
        """What the device says to these bytes; WireError where the other side talks nonsense."""
        packets = self._reader.read(raw)
        return b"".join(encode_packet(said) for packet in packets for said in self._hear(packet))

    def stream(self, packets: int) -> bytes:
        """The next packets of the camera's stream."""
        payloads = islice(self._payloads, packets if self.streams else 0)
        return b"".join(
            encode_packet(
                Packet(message=Iso(endpoint=STREAM_ENDPOINT, length=len(each), payload=each))
            )
            for each in payloads
        )

    def _hear(self, packet: Packet) -> Iterator[Packet]:
        match packet.message:
            case Hello() as hello:
                yield from map(_unasked, self._introduce(hello))
            case Cancel():
                yield from self._cancel(packet.id)
            case Bulk(endpoint=address) as read if address & TOWARDS_HOST:
                self._reads[packet.id] = read
            case Control() | Bulk() | Interrupt() as transfer:
                yield Packet(id=packet.id, message=self._transfer(transfer))
            case wish:
                yield from (Packet(id=packet.id, message=said) for said in self._change(wish))
        yield from map(_unasked, self._interrupts())

    def _introduce(self, hello: Hello) -> Iterator[Message]:
        """The device, new at its port."""
        if CAPABILITIES & ~hello.capabilities:
            raise WireError(f"the other side has the capabilities {hello.capabilities:#x} only")
        self._is_resumed = self._listens = False
        yield Hello(version=b"notebook peripheral", capabilities=CAPABILITIES)
        yield from self._settings.tables()
        vendor, product = device_ids(self._device)
        device_class, device_subclass, device_protocol = OUTLINES[self._device.kind].triple
        yield DeviceConnect(
            speed=Speed.HIGH,
            device_class=device_class,
            device_subclass=device_subclass,
            device_protocol=device_protocol,
            vendor=vendor,
            product=product,
            version=RELEASE,
        )

    def _transfer(self, asked: Control | Bulk | Interrupt) -> Message:
        """A request answered; what is written anywhere else is taken."""
        # The status of a request is whatever was in the emulator's memory.
        done = replace(asked, status=Status.SUCCESS, payload=b"")
        if not isinstance(done, Control):
            return done
        answer = answer_request(self._device, done)
        if answer is None:
            return replace(done, status=Status.STALL, length=0)
        if is_towards_host(done):
            payload = answer[: done.length]
            return replace(done, length=len(payload), payload=payload)
        if is_command(self._device, done):
            self._events.extend(command_answered(self._device, asked.payload))
        return done

    def _change(self, wish: Message) -> Iterator[Message]:
        match wish:
            case SetConfiguration(configuration=number):
                self.streams = False
                yield from self._settings.configure(number)
            case GetConfiguration():
                yield self._settings.configuration()
            case SetAlternate(interface=interface, alternate=alternate):
                self.streams = False
                yield from self._settings.change(interface, alternate)
            case GetAlternate(interface=interface):
                yield self._settings.alternate(interface)
            case StartIso() | StopIso():
                yield self._switch_stream(wish)
            case StartInterrupt() | StopInterrupt():
                yield self._switch_events(wish)
            case Reset():
                self.streams = False
                self._settings.reset()
            case _:
                raise WireError(f"{type(wish).__name__} is nothing that a device is told")

    def _switch_stream(self, wish: StartIso | StopIso) -> Message:
        """The stream runs, or stops; a stall where no such endpoint is there at present."""
        is_there = self._settings.transfer_of(wish.endpoint) is Transfer.ISO
        self.streams = is_there and isinstance(wish, StartIso)
        status = Status.SUCCESS if is_there else Status.STALL
        return IsoStatus(status=status, endpoint=wish.endpoint)

    def _switch_events(self, wish: StartInterrupt | StopInterrupt) -> Message:
        """Events are sent, or kept."""
        is_there = self._settings.transfer_of(wish.endpoint) is Transfer.INTERRUPT
        self._listens = is_there and isinstance(wish, StartInterrupt)
        status = Status.SUCCESS if is_there else Status.STALL
        return InterruptStatus(status=status, endpoint=wish.endpoint)

    def _cancel(self, number: int) -> Iterator[Packet]:
        """A read given up. One from before a snapshot is not known here, but waited for there."""
        read = self._reads.pop(number, None)
        if read is None and self._is_resumed:
            read = Bulk(endpoint=READS, length_low=0)
        if read is not None:
            cancelled = replace(read, status=Status.CANCELLED, length_low=0, length_high=0)
            yield Packet(id=number, message=cancelled)

    def _interrupts(self) -> Iterator[Message]:
        while self._listens and self._events:
            event = self._events.popleft()
            yield Interrupt(endpoint=EVENTS, length=len(event), payload=event)


def _unasked(message: Message) -> Packet:
    return Packet(message=message)
