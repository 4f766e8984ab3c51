"""What keeps a test away from the machine it runs on and from the network.

An audit hook (PEP 578) sees every opening of a file and every use of a socket in this
process, whichever function asks for it. Children started as programs of their own are free.
"""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import PurePosixPath
from typing import Final

MACHINE_FOLDERS: Final = ("/sys", "/proc", "/dev")
HARMLESS: Final = ("/dev/null", "/dev/urandom", "/dev/random", "/dev/shm", "/dev/pts", "/dev/tty")  # noqa: S108 - compared, never created
FILE_EVENTS: Final = frozenset({"open", "os.listdir", "os.scandir"})
ADDRESS_AT: Final = {
    "socket.connect": 1,
    "socket.bind": 1,
    "socket.sendto": 1,
    "socket.sendmsg": 1,
    "socket.getaddrinfo": 0,
    "socket.gethostbyname": 0,
}


class OutsideReachedError(AssertionError):
    """A test asked the real machine or the network."""


class Enclosure:
    """Open at first; while closed, reaching outside raises `OutsideReachedError`."""

    def __init__(self) -> None:
        self._closed = False

    @contextmanager
    def closed(self) -> Iterator[None]:
        """Keeps the process inside until the block ends."""
        before, self._closed = self._closed, True
        try:
            yield
        finally:
            self._closed = before

    def audit(self, event: str, arguments: tuple[object, ...]) -> None:
        """The hook: raises before the operation takes place."""
        if not self._closed:
            return
        if event in FILE_EVENTS and is_machine_path(arguments[0]):
            raise OutsideReachedError(f"{event} of {arguments[0]!r} in a test not marked live")
        if event in ADDRESS_AT and not is_local_address(arguments[ADDRESS_AT[event]]):
            raise OutsideReachedError(f"{event} {arguments!r}: tests use no network")


def is_machine_path(path: object) -> bool:
    """An absolute path under /sys, /proc or /dev that tells something about the machine."""
    if not isinstance(path, str | bytes | os.PathLike):
        return False
    text = os.path.normpath(os.fsdecode(path))
    if any(PurePosixPath(text).is_relative_to(folder) for folder in HARMLESS):
        return False
    return any(PurePosixPath(text).is_relative_to(folder) for folder in MACHINE_FOLDERS)


def is_local_address(address: object) -> bool:
    """A Unix socket by its path; every other family leaves the process's own world."""
    return isinstance(address, bytes) or (isinstance(address, str) and address.startswith("/"))


ENCLOSURE: Final = Enclosure()
sys.addaudithook(ENCLOSURE.audit)
