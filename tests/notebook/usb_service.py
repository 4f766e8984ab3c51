"""The devices of a notebook at their sockets, for as long as a `with` lasts.

The emulator listens at one socket for each device. It comes and goes: it is started again, restored
from a snapshot, its device is taken out and put in. So each device asks for its socket until it is
there, and again when the session has ended.
"""

import selectors
import socket
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager, suppress
from pathlib import Path
from time import monotonic
from typing import Final

from notebook.description import UsbDevice
from notebook.usb_arguments import REDIRECTED, lay_out_stick, socket_place
from notebook.usb_peripheral import Peripheral
from notebook.usb_video import PACKETS_A_SECOND
from notebook.usb_wire import WireError

PERIOD: Final = 0.02
"""How often an absent emulator is asked for, and a stream goes on."""
PIECE: Final = 1 << 16


class Session:
    """A device and the emulator that it is connected to."""

    def __init__(self, device: UsbDevice, line: socket.socket, now: float) -> None:
        line.settimeout(0)
        self.line = line
        self._peripheral = Peripheral(device)
        self._unsent = bytearray()
        self._streamed = now

    @property
    def streams(self) -> bool:
        """There is something to send all the time."""
        return self._peripheral.streams

    @property
    def wants(self) -> int:
        """What the line is watched for."""
        return selectors.EVENT_READ | (selectors.EVENT_WRITE if self._unsent else 0)

    def attend(self, now: float) -> bool:
        """Streams, hears and answers; False when the other side has gone, or talks nonsense."""
        self._stream(now)
        try:
            with suppress(BlockingIOError):
                raw = self.line.recv(PIECE)
                if not raw:
                    return False
                self._unsent += self._peripheral.receive(raw)
            with suppress(BlockingIOError):
                del self._unsent[: self.line.send(self._unsent)]
        except (OSError, WireError):
            return False
        return True

    def _stream(self, now: float) -> None:
        """What became due since the last time; it is lost while the other side takes nothing."""
        due = int((now - self._streamed) * PACKETS_A_SECOND)
        if not self.streams:
            self._streamed = now
        elif due:
            self._streamed += due / PACKETS_A_SECOND
            self._unsent += b"" if self._unsent else self._peripheral.stream(due)


class Outlet:
    """A device's place in the emulator, and the session while there is one."""

    def __init__(self, device: UsbDevice, place: Path) -> None:
        self._device = device
        self._place = place
        self.session: Session | None = None

    @property
    def is_restless(self) -> bool:
        """It must be looked at even when nothing is heard."""
        return self.session is None or self.session.streams

    def attend(self, now: float) -> None:
        """Goes on with the session, begins one, or ends it."""
        if self.session is None:
            self.session = self._connected(now)
        elif not self.session.attend(now):
            self.close()

    def close(self) -> None:
        """Unplugs the device, as the emulator sees it."""
        if self.session is not None:
            self.session.line.close()
            self.session = None

    def _connected(self, now: float) -> Session | None:
        line = socket.socket(socket.AF_UNIX)
        line.settimeout(0)
        try:
            line.connect(str(self._place))
        except OSError:  # not there, nobody behind it, or busy: the next time
            line.close()
            return None
        return Session(self._device, line, now)


@contextmanager
def serve_usb(devices: Mapping[str, UsbDevice], folder: Path) -> Iterator[None]:
    """Runs the devices that are not the emulator's own, and makes the images of sticks.

    To be entered before the emulator is started. What goes wrong inside is raised at the end.
    """
    for name in (name for name, device in devices.items() if device.kind == "stick"):
        lay_out_stick(name, folder)
    outlets = [
        Outlet(device, socket_place(name, folder))
        for name, device in devices.items()
        if device.kind in REDIRECTED
    ]
    bell, listener = socket.socketpair()
    with bell, listener, ThreadPoolExecutor(max_workers=1) as pool:
        serving = pool.submit(_serve, outlets, listener)
        try:
            yield
        finally:
            bell.close()
            serving.result()


def _serve(outlets: Sequence[Outlet], listener: socket.socket) -> None:
    """Attends to whoever has something to say, until the other end of the listener is closed."""
    try:
        while not _is_rung(outlets, listener):
            for outlet in outlets:
                outlet.attend(monotonic())
    finally:
        for outlet in outlets:
            outlet.close()


def _is_rung(outlets: Sequence[Outlet], listener: socket.socket) -> bool:
    """Waits until something happens; True when it is the end."""
    with selectors.DefaultSelector() as selector:
        selector.register(listener, selectors.EVENT_READ)
        for outlet in outlets:
            if outlet.session is not None:
                selector.register(outlet.session.line, outlet.session.wants)
        restless = any(outlet.is_restless for outlet in outlets)
        ready = selector.select(PERIOD if restless else None)
    return any(key.fileobj is listener for key, _ in ready)
