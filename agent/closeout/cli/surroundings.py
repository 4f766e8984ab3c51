"""What a command may touch: streams, clock, environment and folder, handed in from the top."""

import sys
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import BinaryIO, TextIO


@dataclass(frozen=True, slots=True, kw_only=True)
class Surroundings:
    """The world of one command; tests hand in their own.

    `folder` is where relative output goes; `machine` is the root of the live machine.
    """

    stdin: BinaryIO
    stdout: TextIO
    stderr: TextIO
    now: Callable[[], datetime]
    folder: Path
    machine: Path


def real_surroundings() -> Surroundings:
    """The machine that the command runs on."""
    return Surroundings(
        stdin=sys.stdin.buffer,
        stdout=sys.stdout,
        stderr=sys.stderr,
        now=lambda: datetime.now(UTC),
        folder=Path.cwd(),
        machine=Path("/"),
    )
