"""One at a time: what two test runs at once would both build, the second waits for."""

import fcntl
import time
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Final, TextIO

PERIOD: Final = 0.1


@contextmanager
def locked(place: Path) -> Iterator[None]:
    """Holds the lock for the block; a process that ends lets go of it, however it ends."""
    with place.open("w", encoding="ascii") as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        yield


@contextmanager
def one_of(places: Sequence[Path]) -> Iterator[Path]:
    """Holds the first of the locks that is free, and waits until one is."""
    with ExitStack() as held:
        opened = [
            (place, held.enter_context(place.open("w", encoding="ascii"))) for place in places
        ]
        while not (taken := next((place for place, file in opened if _is_taken(file)), None)):
            time.sleep(PERIOD)
        yield Path(taken.name)


def _is_taken(file: TextIO) -> bool:
    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True
