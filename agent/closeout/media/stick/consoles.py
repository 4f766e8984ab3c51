"""Every console of the machine at once: the screen, and each serial line that the kernel uses."""

from __future__ import annotations

import os
import termios
import time
import tty
from collections.abc import Callable, Iterable
from contextlib import suppress
from fcntl import ioctl
from pathlib import Path
from struct import pack, unpack
from typing import Final

from closeout.media.stick.screens import fit, read_frame, read_screens
from closeout.media.stick.words import on_lines

ACTIVE: Final = Path("/sys/class/tty/console/active")
DEVICES: Final = Path("/dev")
SCREEN: Final = "tty1"
USUAL: Final = (24, 80)
"""Rows and columns of what does not say: a serial line."""
CHUNK: Final = 4096
MOST_WAITING: Final = 1 << 18
"""Bytes that wait for a slow line; what is beyond is not shown on it, and others do not wait."""
TRY_AGAIN_SECONDS: Final = 2.0


def console_names(active: str) -> tuple[str, ...]:
    """Where people sit, out of the kernel's list of its consoles; the screen is always one."""
    names = (SCREEN if name == "tty0" else name for name in active.split())
    return tuple(dict.fromkeys((SCREEN, *names)))


class Console:
    """One console; it may be gone for a while, and is opened again."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.handle = -1
        self.waiting = b""
        self._tried = -TRY_AGAIN_SECONDS

    def open(self) -> None:
        """Opens it where it is not, if it was not tried a moment ago."""
        now = time.monotonic()
        if self.handle >= 0 or now - self._tried < TRY_AGAIN_SECONDS:
            return
        self._tried = now
        flags = os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK | os.O_CLOEXEC
        with suppress(OSError, termios.error):
            self.handle = os.open(self.path, flags)
            _make_raw(self.handle)

    def close(self) -> None:
        """Closes it, and forgets what waited."""
        if self.handle >= 0:
            with suppress(OSError):
                os.close(self.handle)
        self.handle, self.waiting = -1, b""

    def read(self) -> bytes:
        """What was typed at it."""
        try:
            typed = os.read(self.handle, CHUNK)
        except BlockingIOError:
            return b""
        except OSError:
            typed = b""
        if not typed:  # hung up; it may be there again in a moment
            self.close()
        return typed

    def put(self, raw: bytes) -> None:
        """Shows it, at once as far as that goes."""
        if room := MOST_WAITING - len(self.waiting):
            self.waiting += raw[:room]
        self.go_on()

    def go_on(self) -> None:
        """Shows of what waits as much as it takes."""
        if self.handle < 0 or not self.waiting:
            return
        try:
            self.waiting = self.waiting[os.write(self.handle, self.waiting) :]
        except BlockingIOError:
            return
        except OSError:
            self.close()

    def size(self) -> tuple[int, int]:
        """Its rows and columns."""
        try:
            told = unpack("HHHH", ioctl(self.handle, termios.TIOCGWINSZ, bytes(8)))
        except (OSError, ValueError):  # it has no size, or was closed
            return USUAL
        return (told[0] or USUAL[0], told[1] or USUAL[1])


class Consoles:
    """All of them as one."""

    def __init__(self, paths: Iterable[Path]) -> None:
        self.all = tuple(Console(path) for path in paths)
        self.open()

    def open(self) -> None:
        """Opens those that are not."""
        for console in self.all:
            console.open()

    def there(self) -> tuple[Console, ...]:
        """Those that are open."""
        return tuple(console for console in self.all if console.handle >= 0)

    def put(self, raw: bytes) -> None:
        """Shows it on each."""
        for console in self.there():
            console.put(raw)

    def fit_to_screens(self) -> None:
        """Makes the screen's console as small as the smallest screen that shows it."""
        frame, screens = read_frame(), read_screens()
        for console in self.there():
            if console.path.name == SCREEN and frame and screens:
                fitted = fit(console.size(), frame, screens)
                if fitted != console.size():
                    set_size(console.handle, fitted)

    def say(self, text: str) -> None:
        """A line of our own, laid on as many as each console needs."""
        for console in self.there():
            console.put(on_lines(text, console.size()[1]))

    def size(self) -> tuple[int, int]:
        """Rows and columns that all of them have."""
        sizes = [console.size() for console in self.there()] or [USUAL]
        return min(rows for rows, _ in sizes), min(columns for _, columns in sizes)


def live_consoles(read: Callable[[], str] = lambda: ACTIVE.read_text("ascii")) -> Consoles:
    """Those of the running machine."""
    try:
        active = read()
    except OSError:
        active = ""
    return Consoles(DEVICES / name for name in console_names(active))


def set_size(handle: int, size: tuple[int, int]) -> None:
    """Tells a pseudo-terminal, and so the session on it, how large it is."""
    with suppress(OSError):
        ioctl(handle, termios.TIOCSWINSZ, pack("HHHH", *size, 0, 0))


def _make_raw(handle: int) -> None:
    """Bytes as they are; the session's own terminal edits, echoes and ends lines.

    A serial line without carrier detect would read as closed.
    """
    tty.setraw(handle, termios.TCSANOW)
    state = termios.tcgetattr(handle)
    state[2] |= termios.CLOCAL | termios.CREAD
    termios.tcsetattr(handle, termios.TCSANOW, state)
