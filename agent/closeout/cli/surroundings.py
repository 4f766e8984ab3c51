"""What a command may touch: streams, clock, environment and folder, handed in from the top."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from time import time
from typing import BinaryIO, TextIO

from closeout.model.frozen import frozen


@frozen
class Surroundings:
    """The world of one command; tests hand in their own.

    `now` is the time of day in seconds from 1970, `folder` is where relative output goes, and
    `machine` the root of the live machine.
    """

    stdin: BinaryIO
    stdout: TextIO
    stderr: TextIO
    now: Callable[[], float]
    folder: Path
    machine: Path


def real_surroundings() -> Surroundings:
    """The machine that the command runs on; a stream that was closed is an empty one."""
    return Surroundings(
        stdin=sys.stdin.buffer if sys.stdin else BytesIO(),
        stdout=sys.stdout or _nowhere(),
        stderr=sys.stderr or _nowhere(),
        now=time,
        folder=Path.cwd(),
        machine=Path("/"),
    )


def _nowhere() -> TextIO:
    return Path(os.devnull).open("w", encoding="utf-8")
