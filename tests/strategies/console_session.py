"""The program on a pseudo-terminal, typed at as a person or a scanner does."""

import os
import pty
import select
import signal
import sys
import termios
import time
from collections.abc import Callable, Mapping
from fcntl import ioctl
from pathlib import Path
from struct import pack
from typing import Final

PROGRAM: Final = (sys.executable, "-m", "closeout")
PATIENCE: Final = 60.0
"""Seconds that a busy machine may take until the program says what is waited for."""
BREATH: Final = 0.01
ROWS: Final = 24
CHUNK: Final = 65_536
CTRL_C: Final = b"\x03"
CTRL_D: Final = b"\x04"


class Session:
    """`closeout ARGUMENTS`, with a terminal of its own for all three streams."""

    def __init__(
        self, folder: Path, *arguments: object, columns: int = 80, term: str = "xterm"
    ) -> None:
        named = {"TERM": term, "PYTHONDONTWRITEBYTECODE": "1"}
        left_out = {"COLUMNS", "LINES", "NO_COLOR", "FORCE_COLOR"}
        kept = {name: value for name, value in os.environ.items() if name not in left_out}
        self.seen = b""
        self._since = 0
        self._pid, self._terminal = pty.fork()
        if self._pid == 0:  # pragma: no cover - the child
            _become(folder, [*PROGRAM, *map(str, arguments)], kept | named, columns)

    @property
    def text(self) -> str:
        """Everything on the screen so far, colours left out, lines ended as in a file."""
        plain = _without_colours(self.seen.decode("utf-8", "replace"))
        return plain.replace("\r\n", "\n")

    def wait_for(self, words: str) -> None:
        """Reads on until the words stand there, after those of the last time."""
        wanted = words.encode()
        self._read_until(lambda: wanted in self.seen[self._since :])
        assert wanted in self.seen[self._since :], f"{words!r} was not said in: {self.text}"
        self._since = self.seen.index(wanted, self._since) + len(wanted)

    def type(self, raw: bytes | str) -> None:
        """Types at once, as a scanner does."""
        os.write(self._terminal, raw.encode() if isinstance(raw, str) else raw)

    def hang_up(self) -> None:
        """Closes the terminal, as when its window goes away."""
        os.close(self._terminal)

    def end(self) -> int:
        """Reads to the end; the exit code."""
        self._read_until(lambda: False)
        return self.wait()

    def wait(self) -> int:
        """The exit code; the minus of the signal's number where one ended it."""
        until = time.monotonic() + PATIENCE
        while time.monotonic() < until:
            ended, status = os.waitpid(self._pid, os.WNOHANG)
            if ended:
                return os.waitstatus_to_exitcode(status)
            time.sleep(BREATH)
        os.kill(self._pid, signal.SIGKILL)
        os.waitpid(self._pid, 0)
        raise AssertionError(f"it did not end after: {self.text}")

    def _read_until(self, is_enough: Callable[[], bool]) -> None:
        until = time.monotonic() + PATIENCE
        while not is_enough() and time.monotonic() < until:
            if select.select([self._terminal], [], [], 1.0)[0]:
                try:
                    read = os.read(self._terminal, CHUNK)
                except OSError:  # the other side is closed
                    return
                if not read:
                    return
                self.seen += read


def _become(  # pragma: no cover - in the child
    folder: Path, command: list[str], environment: Mapping[str, str], columns: int
) -> None:
    try:
        for number in (signal.SIGINT, signal.SIGHUP):  # a job in the background ignores the first
            signal.signal(number, signal.SIG_DFL)
        ioctl(0, termios.TIOCSWINSZ, pack("HHHH", ROWS, columns, 0, 0))
        os.chdir(folder)
        os.execve(command[0], command, dict(environment))  # noqa: S606 - our own program
    finally:
        os._exit(127)


def _without_colours(text: str) -> str:
    pieces = text.split("\x1b[")
    return pieces[0] + "".join(piece.partition("m")[2] for piece in pieces[1:])
