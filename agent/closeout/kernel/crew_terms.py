"""How the children of the live source are led."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable
from contextlib import suppress
from typing import Final

from closeout.kernel.deadlines import budget_seconds
from closeout.kernel.record import Clock, Question
from closeout.kernel.task import Progress, no_progress
from closeout.model.frozen import frozen

MOST_CHILDREN: Final = 12
CHILDREN: Final = min(MOST_CHILDREN, 2 + (os.cpu_count() or 1))
"""Two more than processors, so that some may wait for a device while others work: to start one
costs more than what it reads, and on a slow machine more than all the rest of a run."""


def kill_now(pid: int) -> None:
    """Send the signal that cannot be caught; whether it has any effect is not waited for."""
    with suppress(ProcessLookupError):
        os.kill(pid, signal.SIGKILL)


@frozen
class CrewTerms:
    """How long, how many, and what else a crew goes by.

    `clock` is monotonic; `until` is the moment on it, in nanoseconds, when all readings end;
    `children` work at a time; a task is given up when it cost `strikes` children.
    """

    clock: Clock
    until: int
    secret: bytes | None = None
    children: int = CHILDREN
    strikes: int = 3
    budget: Callable[[Question], float] = budget_seconds
    kill: Callable[[int], None] = kill_now
    progress: Progress = no_progress
