"""Bad input or usage, said in one line a mistake: what, where, and what to do."""

from __future__ import annotations

from enum import IntEnum


class ExitCode(IntEnum):
    """How a command ends. `check` uses all of them, every other command 0, 2 and 4."""

    RELEASE = 0
    HOLD = 1
    BAD_INPUT = 2
    UNDECIDED = 3
    INTERNAL = 4
    INTERRUPTED = 130


DONE = ExitCode.RELEASE


class InputTroubleError(Exception):
    """A command cannot go on with what it was given; each of the `lines` says one thing wrong."""

    def __init__(self, *lines: str) -> None:
        super().__init__("\n".join(lines))
        self.lines = lines
