"""The session on a pseudo-terminal of its own, shown on every console and typed at from any."""

from __future__ import annotations

import os
import pty
import select
import signal
import time
from collections.abc import Mapping, Sequence
from contextlib import suppress
from typing import Final, NoReturn

from closeout.media.stick.consoles import CHUNK, Console, Consoles, set_size

LOOK_SECONDS: Final = 1.0
"""How often sizes and consoles are looked at when nothing happens."""
NO_PROGRAM: Final = 127


class Relay:
    """One session, from its start to its end."""

    def __init__(
        self, consoles: Consoles, command: Sequence[str], environment: Mapping[str, str]
    ) -> None:
        self._consoles = consoles
        self._size = consoles.size()
        self._pid, self._terminal = pty.fork()
        if self._pid == 0:  # pragma: no cover - the child
            _become(command, environment)
        os.set_blocking(self._terminal, False)
        set_size(self._terminal, self._size)
        self._status: int | None = None

    def serve(self) -> int:
        """Until the session has ended: its exit code, or the minus of the signal's number."""
        while self._status is None:
            self._pass_on(LOOK_SECONDS)
            self._reap()
            self._consoles.open()
            self._follow_size()
        self._pass_on(0.0)
        with suppress(OSError):
            os.close(self._terminal)
        self._drain()
        return self._status

    def _pass_on(self, seconds: float) -> None:
        """Takes what has come in, waiting for it at most this long."""
        consoles = {console.handle: console for console in self._consoles.there()}
        wanted = [handle for handle, console in consoles.items() if console.waiting]
        try:
            readable, writable, _ = select.select([self._terminal, *consoles], wanted, [], seconds)
        except OSError:
            return
        for handle in writable:
            consoles[handle].go_on()
        for handle in readable:
            if handle != self._terminal:
                self._type(consoles[handle])
            elif not self._show() and seconds:
                time.sleep(0.01)  # closed, and not reaped yet

    def _type(self, console: Console) -> None:
        with suppress(OSError):  # of a session that reads nothing, no more than its line takes
            os.write(self._terminal, console.read())

    def _show(self) -> bool:
        """Shows what the session said; whether there was anything."""
        try:
            said = os.read(self._terminal, CHUNK)
        except OSError:
            return False
        self._consoles.put(said)
        return bool(said)

    def _reap(self) -> None:
        """Every child that has ended is waited for: nobody else does it."""
        with suppress(ChildProcessError):
            while (ended := os.waitpid(-1, os.WNOHANG))[0]:
                if ended[0] == self._pid:
                    self._status = os.waitstatus_to_exitcode(ended[1])
                    while self._show():
                        pass

    def _follow_size(self) -> None:
        """A driver of the screen that comes late changes it; so does a console that is gone."""
        if (size := self._consoles.size()) != self._size:
            self._size = size
            set_size(self._terminal, size)

    def _drain(self) -> None:
        """The last words may still wait for a slow line, but not for ever."""
        until = time.monotonic() + LOOK_SECONDS
        while time.monotonic() < until and any(one.waiting for one in self._consoles.there()):
            for console in self._consoles.there():
                console.go_on()
            time.sleep(0.01)


def _become(  # pragma: no cover - in the child
    command: Sequence[str], environment: Mapping[str, str]
) -> NoReturn:
    try:
        for number in (signal.SIGINT, signal.SIGPIPE, signal.SIGHUP, signal.SIGTERM):
            signal.signal(number, signal.SIG_DFL)
        os.execve(command[0], list(command), dict(environment))  # noqa: S606 - our own session
    finally:
        os._exit(NO_PROGRAM)
