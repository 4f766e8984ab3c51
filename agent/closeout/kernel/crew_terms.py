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

CHILDREN: Final = 6
"""As many devices as may keep us waiting at once. To start a child costs more than what it reads,
so there are no more of them than that, each with a share of the devices."""


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
