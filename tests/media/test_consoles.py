"""One session on several consoles, each a pseudo-terminal here, typed at from any of them."""

import os
import pty
import re
import select
import sys
import termios
import threading
import time
from collections.abc import Iterator
from contextlib import suppress
from fcntl import ioctl
from pathlib import Path
from struct import pack
from typing import Final

import pytest

from closeout.media.stick import consoles as live
from closeout.media.stick.consoles import USUAL, Consoles, console_names
from closeout.media.stick.relay import Relay
from closeout.media.stick.words import FIRST_SCREEN, on_lines

PATIENCE = 120.0
MOST_HELD = 1 << 16
"""More than a pseudo-terminal takes (4 KiB)."""
PAGES: Final = 24
"""Of an eighth of that: three times as much."""
ECHO = "import sys\nfor line in sys.stdin: print('got', line.strip(), flush=True)"
SIZE = "import os\nwhile input() != 'end': print(tuple(os.get_terminal_size()), flush=True)"


class Seat:
    """Where a person sits: the other side of a console."""

    def __init__(self, rows: int = 0, columns: int = 0) -> None:
        self.handle, own = pty.openpty()
        self.path = Path(os.ttyname(own))
        self._own = own
        self.resize(rows, columns)
        self.seen = b""

    def resize(self, rows: int, columns: int) -> None:
        """A window, or a driver of the screen, of another size."""
        ioctl(self._own, termios.TIOCSWINSZ, pack("HHHH", rows, columns, 0, 0))

    def wait_for(self, words: bytes) -> None:
        """Reads until they stand there."""
        until = time.monotonic() + PATIENCE
        while words not in self.seen and time.monotonic() < until:
            if select.select([self.handle], [], [], 0.1)[0]:
                self.seen += os.read(self.handle, 1 << 16)
        assert words in self.seen

    def type(self, raw: bytes) -> None:
        """Types them at once."""
        os.write(self.handle, raw)

    def close(self) -> None:
        """Takes the console away."""
        for handle in (self.handle, self._own):
            with suppress(OSError):
                os.close(handle)


@pytest.fixture
def seats() -> Iterator[tuple[Seat, Seat]]:
    """A screen of 100 columns, and a serial line that does not say its size."""
    both = (Seat(30, 100), Seat())
    yield both
    for seat in both:
        seat.close()


class Running:
    """A session that is relayed in a thread, as the first program does in its only one."""

    def __init__(self, seats: tuple[Seat, ...], program: str) -> None:
        self.ending: int | None = None
        self.consoles = Consoles(seat.path for seat in seats)
        self._program = program
        self._thread = threading.Thread(target=self._serve)
        self.relay = Relay(self.consoles, (sys.executable, "-c", program), {"TERM": "linux"})
        self._thread.start()

    def _serve(self) -> None:
        self.ending = self.relay.serve()

    def end(self) -> int | None:
        """How the session ended."""
        self._thread.join(PATIENCE)
        assert not self._thread.is_alive()
        return self.ending


@pytest.mark.parametrize(
    ("active", "names"),
    [
        ("tty0 ttyS0\n", ("tty1", "ttyS0")),
        ("ttyS0", ("tty1", "ttyS0")),
        ("", ("tty1",)),
        ("ttyS0 ttyS1 tty0", ("tty1", "ttyS0", "ttyS1")),
    ],
)
def test_the_screen_is_always_one_of_them(active: str, names: tuple[str, ...]) -> None:
    assert console_names(active) == names


def test_what_is_typed_at_one_is_answered_on_both(seats: tuple[Seat, Seat]) -> None:
    running = Running(seats, ECHO)
    for number, seat in enumerate(seats):
        seat.type(f"word{number}\r".encode())
        for each in seats:
            each.wait_for(f"got word{number}\r\n".encode())
    seats[1].type(b"\x04")
    assert running.end() == 0


def test_the_session_has_the_size_of_the_smallest(seats: tuple[Seat, Seat]) -> None:
    running = Running(seats, SIZE)
    seats[0].type(b"\r")
    seats[1].wait_for(b"(80, 24)")
    seats[0].resize(60, 45)  # a portrait panel whose driver came late
    time.sleep(2.5)
    seats[1].type(b"\r")
    seats[1].wait_for(b"(45, 24)")
    seats[1].type(b"end\r")
    assert running.end() == 0


def test_how_a_session_ended_is_told(seats: tuple[Seat, Seat]) -> None:
    assert Running(seats, "raise SystemExit(3)").end() == 3
    assert Running(seats, "import os; os.kill(os.getpid(), 9)").end() == -9
    assert Running(seats, "print('last words')").end() == 0
    seats[1].wait_for(b"last words")


def test_a_program_that_is_not_there_ends_too(seats: tuple[Seat, Seat]) -> None:
    relay = Relay(Consoles([seats[0].path]), ("/nowhere/python3",), {})
    assert relay.serve() == 127


def test_other_children_are_waited_for(seats: tuple[Seat, Seat]) -> None:
    orphan = os.fork()
    if orphan == 0:
        os._exit(0)
    os.waitid(os.P_PID, orphan, os.WEXITED | os.WNOWAIT)  # it has ended, and waits to be asked
    assert Running(seats, "print(1)").end() == 0
    with pytest.raises(ChildProcessError):
        os.waitpid(orphan, 0)


def test_a_console_that_takes_nothing_does_not_stop_the_others(
    seats: tuple[Seat, Seat], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nobody reads the second: more than it can hold is lost on it, and the first goes on.

    The session waits for whoever reads the first, so that only the second has much waiting.
    """
    monkeypatch.setattr(live, "MOST_WAITING", MOST_HELD)
    running = Running(seats, f"for n in range({PAGES}): print('x' * {MOST_HELD // 8}, n); input()")
    for page in range(PAGES):
        seats[0].wait_for(f"x {page}\r\n".encode())
        seats[0].type(b"\r")
    assert running.end() == 0
    assert len(running.consoles.all[1].waiting) == MOST_HELD


def test_a_console_that_is_gone_is_left_out_and_opened_again(seats: tuple[Seat, Seat]) -> None:
    running = Running(seats, ECHO)
    seats[1].close()
    seats[0].type(b"alone\r")
    seats[0].wait_for(b"got alone")
    seats[0].type(b"\x04")
    assert running.end() == 0


def test_a_console_that_hung_up_is_closed_until_it_is_there_again(
    seats: tuple[Seat, Seat], monkeypatch: pytest.MonkeyPatch
) -> None:
    """As a serial line whose cable is pulled: reading and writing fail, nobody else waits."""
    consoles = Consoles(seat.path for seat in seats)
    screen, line = consoles.all
    os.close(line.handle)
    line.handle = os.open("/dev/null", os.O_RDONLY)
    assert line.read() == b""
    assert consoles.there() == (screen,)
    line.handle = os.open("/dev/null", os.O_RDONLY)
    line.put(b"words")
    assert (line.handle, line.waiting) == (-1, b"")
    assert line.size() == USUAL
    monkeypatch.setattr("closeout.media.stick.consoles.TRY_AGAIN_SECONDS", 0.0)
    consoles.open()
    assert consoles.there() == (screen, line)
    assert (screen.read(), line.read()) == (b"", b"")
    consoles.say("back")
    seats[1].wait_for(b"back\r\n")


def test_without_any_console_the_size_is_the_usual() -> None:
    consoles = Consoles([Path("/nowhere/tty1")])
    consoles.say("to nobody")
    assert (consoles.there(), consoles.size()) == ((), USUAL)


@pytest.mark.parametrize("columns", [20, 40, 80, 200])
def test_the_first_screen_fits_any_width(columns: int) -> None:
    for line in FIRST_SCREEN:
        shown = on_lines(line, columns).decode()
        assert max(map(len, shown.split("\r\n"))) <= columns
        assert shown.endswith("\r\n")
    told = " ".join(FIRST_SCREEN)
    assert re.search(r"disk will not be opened for writing", told)
