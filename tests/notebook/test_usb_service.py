"""Devices at real sockets: they come, answer, end and come again, and the end is prompt."""

import socket
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from notebook.description import UsbDevice, load_notebook
from notebook.usb_arguments import STICK_SIZE, socket_place, stick_place
from notebook.usb_messages import (
    Control,
    DeviceConnect,
    EndpointInfo,
    Hello,
    InterfaceInfo,
    Iso,
    Message,
    SetAlternate,
    StartIso,
)
from notebook.usb_service import Session, serve_usb
from notebook.usb_wire import Packet, PacketReader, encode_packet

DEVICES = load_notebook("fen-14").usb
READER = DEVICES["fingerprint"]
CAMERA = DEVICES["camera"]
HELLO = Hello(version=b"emulator", capabilities=0xFB)
ASK_DEVICE = Control(endpoint=0x80, request=6, request_type=0x80, value=0x0100, index=0, length=64)
INTRODUCTION = [Hello, EndpointInfo, InterfaceInfo, DeviceConnect]
WITHIN = 5.0


class Line:
    """The emulator's end of a connection."""

    def __init__(self, line: socket.socket) -> None:
        line.settimeout(WITHIN)
        self._line = line
        self._reader = PacketReader()

    def say(self, *messages: Message) -> None:
        """All of it at once."""
        self._line.sendall(b"".join(encode_packet(Packet(message=each)) for each in messages))

    def hear(self, count: int) -> list[Message]:
        """So many messages."""
        heard: list[Message] = []
        while len(heard) < count:
            raw = self._line.recv(65536)
            assert raw, "the device is gone"
            heard += [packet.message for packet in self._reader.read(raw)]
        return heard

    def hears_the_end(self) -> bool:
        """The device has left."""
        try:
            while self._line.recv(65536):
                pass
        except ConnectionResetError:
            return True  # it left without reading the last word
        return True

    def close(self) -> None:
        """The emulator is gone."""
        self._line.close()


@contextmanager
def listening(place: Path) -> Iterator[socket.socket]:
    """A socket as the emulator has it for a device; it is taken away at the end."""
    with socket.socket(socket.AF_UNIX) as server:
        server.bind(str(place))
        server.listen(1)
        server.settimeout(WITHIN)
        yield server
    place.unlink()


def accepted(server: socket.socket) -> Line:
    line, _ = server.accept()
    return Line(line)


def test_all_devices_come_at_once(tmp_path: Path) -> None:
    with serve_usb(DEVICES, tmp_path):
        for name, device in DEVICES.items():
            with listening(socket_place(name, tmp_path)) as server:
                line = accepted(server)
                line.say(HELLO, ASK_DEVICE)
                *introduction, answer = line.hear(5)
                assert [type(each) for each in introduction] == INTRODUCTION
                assert isinstance(answer, Control)
                vendor, product = answer.payload[8:10], answer.payload[10:12]
                assert f"{vendor[::-1].hex()}:{product[::-1].hex()}" == device.ids
                line.close()


def test_a_device_comes_again(tmp_path: Path) -> None:
    with serve_usb({"reader": READER}, tmp_path):
        for _ in range(3):
            with listening(socket_place("reader", tmp_path)) as server:
                for _ in range(2):
                    line = accepted(server)
                    line.say(HELLO)
                    assert [type(each) for each in line.hear(4)] == INTRODUCTION
                    line.close()


def test_the_end_of_the_block_unplugs(tmp_path: Path) -> None:
    with listening(socket_place("reader", tmp_path)) as server:
        with serve_usb({"reader": READER}, tmp_path):
            line = accepted(server)
            line.say(HELLO)
            line.hear(4)
        assert line.hears_the_end()
        line.close()


def test_nonsense_ends_a_session_and_not_the_service(tmp_path: Path) -> None:
    with (
        serve_usb({"reader": READER}, tmp_path),
        listening(socket_place("reader", tmp_path)) as server,
    ):
        line = accepted(server)
        line._line.sendall(b"GET / HTTP/1.1\r\nHost: nobody\r\n\r\n")
        assert line.hears_the_end()
        line.close()
        line = accepted(server)
        line.say(HELLO)
        assert [type(each) for each in line.hear(4)] == INTRODUCTION
        line.close()


def test_a_stream_goes_on_by_itself(tmp_path: Path) -> None:
    with (
        serve_usb({"camera": CAMERA}, tmp_path),
        listening(socket_place("camera", tmp_path)) as server,
    ):
        line = accepted(server)
        line.say(HELLO, SetAlternate(interface=1, alternate=1))
        line.say(StartIso(endpoint=0x81, packets=1, requests=1))
        heard = line.hear(4 + 3 + 1 + 20)
        assert all(isinstance(each, Iso) for each in heard[8:])
        line.close()


@pytest.mark.parametrize(
    ("moments", "packets"),
    [([100.5, 101.0], 250), ([100.001], 0), ([100.125, 100.25, 100.375], 93)],
)
def test_a_stream_keeps_its_pace(moments: list[float], packets: int) -> None:
    ours, theirs = socket.socketpair()
    with ours, theirs:
        session, line = Session(CAMERA, ours, 50.0), Line(theirs)
        line.say(HELLO, SetAlternate(interface=1, alternate=1))
        line.say(StartIso(endpoint=0x81, packets=1, requests=1))
        assert session.attend(100.0)
        line.hear(8)
        assert all(session.attend(moment) for moment in moments)
        session.line.shutdown(socket.SHUT_WR)
        taken = len(line.hear(packets)) if packets else 0
        assert taken == packets
        assert theirs.recv(1) == b""


def test_a_stream_that_nobody_takes_does_not_pile_up() -> None:
    ours, theirs = socket.socketpair()
    with ours, theirs:
        session, line = Session(CAMERA, ours, 0.0), Line(theirs)
        line.say(HELLO, SetAlternate(interface=1, alternate=1))
        line.say(StartIso(endpoint=0x81, packets=1, requests=1))
        assert all(session.attend(float(moment)) for moment in range(2000))
        assert len(session._unsent) < 1 << 20


@given(st.binary(min_size=1, max_size=300))
def test_a_session_survives_or_ends(raw: bytes) -> None:
    ours, theirs = socket.socketpair()
    with ours, theirs:
        session = Session(READER, ours, 0.0)
        theirs.sendall(raw)
        session.attend(1.0)
        theirs.shutdown(socket.SHUT_WR)
        assert not session.attend(2.0) or not session.attend(3.0)


def test_sticks_have_an_image_and_keep_it(tmp_path: Path) -> None:
    stick = UsbDevice(port=2, kind="stick", serial="S1")
    with serve_usb({"a": stick, "hub": replace(stick, kind="hub", serial="")}, tmp_path):
        assert stick_place("a", tmp_path).stat().st_size == STICK_SIZE
    stick_place("a", tmp_path).write_bytes(b"kept")
    with serve_usb({"a": stick}, tmp_path):
        assert stick_place("a", tmp_path).read_bytes() == b"kept"
    assert [file.name for file in tmp_path.iterdir()] == ["usb-a.raw"]


def test_a_mistake_inside_is_raised_at_the_end(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="not enough values"):
        _serve_nameless(tmp_path)


def _serve_nameless(folder: Path) -> None:
    nameless = {"reader": replace(READER, ids="")}
    with listening(socket_place("reader", folder)) as server, serve_usb(nameless, folder):
        line = accepted(server)
        line.say(HELLO)
        assert line.hears_the_end()
        line.close()
