"""One at a time: what two test runs at once would both build, the second waits for."""

import fcntl
import time
from collections.abc import Iterable, Iterator
from contextlib import ExitStack, contextmanager, nullcontext
from pathlib import Path
from typing import Final, TextIO

PERIOD: Final = 0.1


@contextmanager
def locked(place: Path) -> Iterator[None]:
    """Holds the lock for the block; a process that ends lets go of it, however it ends."""
    with place.open("w", encoding="ascii") as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        yield


class Seat:
    """One of several locks, held once by a process however often it asks.

    Were it held for each asking, two processes that have one and want another would wait for ever.
    """

    def __init__(self, places: Iterable[Path]) -> None:
        self._places = tuple(places)
        self._askings = 0

    @contextmanager
    def taken(self) -> Iterator[None]:
        """Holds the first of the locks that is free, and waits until one is."""
        with nullcontext() if self._askings else self._first_free():
            self._askings += 1
            try:
                yield
            finally:
                self._askings -= 1

    @contextmanager
    def _first_free(self) -> Iterator[None]:
        with ExitStack() as held:
            files = [
                held.enter_context(place.open("w", encoding="ascii")) for place in self._places
            ]
            while not any(map(_is_taken, files)):
                time.sleep(PERIOD)
            yield


def _is_taken(file: TextIO) -> bool:
    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True
