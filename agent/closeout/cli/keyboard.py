"""Lines typed or scanned at the terminal: one to a question, and nothing typed before it."""

from __future__ import annotations

import signal
import termios
import time
from collections.abc import Callable, Generator
from contextlib import contextmanager
from types import FrameType
from typing import BinaryIO, Final

LONGEST_LINE: Final = 4096
SETTLE_SECONDS: Final = 0.1
"""What a scanner sends after its Enter, a line feed or the code a second time, has arrived then."""

LOCAL_MODES: Final = 3
"""Their place among what `termios.tcgetattr` gives."""

ENDINGS: Final = (signal.SIGHUP, signal.SIGTERM)

Sleep = Callable[[float], None]


class Keyboard:
    """The terminal's input, line by line."""

    def __init__(self, stream: BinaryIO, sleep: Sleep = time.sleep) -> None:
        self._stream = stream
        self._sleep = sleep

    def forget(self) -> None:
        """Drops what was typed so far: it cannot be an answer to what is asked only now."""
        try:
            handle = self._stream.fileno()
        except (OSError, ValueError):
            return
        self._sleep(SETTLE_SECONDS)
        try:
            termios.tcflush(handle, termios.TCIFLUSH)
        except (OSError, termios.error):
            return

    @contextmanager
    def unseen(self) -> Generator[None]:
        """What is typed meanwhile is not shown by the terminal."""
        try:
            handle = self._stream.fileno()
            shown = termios.tcgetattr(handle)
        except (OSError, ValueError, termios.error):
            yield
            return
        unseen = [*shown]
        unseen[LOCAL_MODES] &= ~termios.ECHO
        termios.tcsetattr(handle, termios.TCSADRAIN, unseen)
        try:
            yield
        finally:
            termios.tcsetattr(handle, termios.TCSADRAIN, shown)

    def line(self) -> str | None:
        """The next line without its end; None where there are no more."""
        raw = self._stream.readline(LONGEST_LINE)
        return raw.decode("utf-8", "replace").rstrip("\r\n") if raw else None


@contextmanager
def hang_up_as_stop() -> Generator[None]:
    """A terminal that is closed, or a request to end, stops the asking and not the program.

    Once that happened these signals are ignored: what was answered has still to be written.
    """

    def stop(_number: int, _frame: FrameType | None) -> None:
        _ignore_endings()
        raise KeyboardInterrupt

    before = {number: signal.signal(number, stop) for number in ENDINGS}
    try:
        yield
    except OSError:
        _ignore_endings()
    finally:
        for number, handler in before.items():
            if signal.getsignal(number) is stop:
                signal.signal(number, handler)


def _ignore_endings() -> None:
    for number in ENDINGS:
        signal.signal(number, signal.SIG_IGN)
