"""A clock that goes on only while every child of the crew hangs, and then to the next deadline.

The children are real processes. A child that hangs says so in memory it shares with the parent;
while any other child works, real time passes and the clock stands still. So an hour of waiting
takes a moment, and a busy machine changes nothing.
"""

import mmap
import selectors
import time
from collections.abc import Callable
from typing import Final, NoReturn, TypeAlias

from closeout.kernel.crew_child import Wire
from closeout.kernel.crew_terms import kill_now

Start: TypeAlias = Callable[[Callable[[Wire], None]], tuple[int, int]]

SLOTS: Final = 1 << 16
NANOSECONDS: Final = 1_000_000_000
GLANCE: Final = 0.002
"""Seconds between two looks at whether anybody still works."""


class VirtualTime:
    """`clock` is monotonic, in nanoseconds, and starts at zero."""

    def __init__(self) -> None:
        self.now = 0
        self._hanging = mmap.mmap(-1, SLOTS)
        self._given = 0
        self._own = 0
        self._working: dict[int, int] = {}

    def clock(self) -> int:
        """The moment."""
        return self.now

    def start(self, start_child: Start, work: Callable[[Wire], None]) -> tuple[int, int]:
        """Starts a child by `start_child`, with a slot that no other ever has."""
        self._given += 1
        slot = self._given

        def begin(wire: Wire) -> None:
            self._own = slot
            work(wire)

        pid, pipe = start_child(begin)
        self._working[pid] = slot
        return pid, pipe

    def hang(self) -> NoReturn:
        """In a child: sleep where no signal but one reaches it."""
        self._hanging[self._own] = 1
        while True:
            time.sleep(3600)

    def kill(self, pid: int) -> None:
        """As the crew does, and the child counts no more, though it may just begin to hang."""
        kill_now(pid)
        self._working.pop(pid, None)

    def how_many_hang(self) -> int:
        """Children that hang at this moment."""
        return sum(self._hanging[slot] for slot in self._working.values())

    def selector(self) -> Callable[[], selectors.BaseSelector]:
        """What makes the selector that this time passes in."""
        virtual = self

        class Selector(selectors.DefaultSelector):
            """Waits for real while somebody works; else the time asked for is over at once."""

            def select(
                self, timeout: float | None = None
            ) -> list[tuple[selectors.SelectorKey, int]]:
                while True:
                    # Asked first: who hangs now has said before what it waits for.
                    all_hang = virtual.how_many_hang() >= len(self.get_map())
                    events = super().select(GLANCE)
                    if events:
                        return events
                    if all_hang:
                        virtual.now += int((timeout or 0) * NANOSECONDS) + 1
                        return []

        return Selector
