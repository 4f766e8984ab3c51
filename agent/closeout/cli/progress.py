"""Progress on the error stream: one line that is rewritten on a terminal, nothing elsewhere."""

from __future__ import annotations

from typing import Final, TextIO

from closeout.cli.surroundings import Surroundings
from closeout.kernel.task import Progress, no_progress

LINE_WIDTH: Final = 40
LONG_LINE_WIDTH: Final = 60


def make_progress(surroundings: Surroundings, *, quiet: bool) -> Progress:
    """Shows how far the reading is; off a terminal, or quiet, nobody is told."""
    stream = surroundings.stderr
    if quiet or not stream.isatty():
        return no_progress

    def show(done: int, total: int, name: str) -> None:
        rewrite_line(stream, f"reading {done}/{total} {name}"[:LINE_WIDTH], LINE_WIDTH)
        if done == total:
            clear_line(stream, LINE_WIDTH)

    return show


def rewrite_line(stream: TextIO, line: str, width: int = LONG_LINE_WIDTH) -> None:
    """Puts a line over the one before it; a terminal's alone."""
    stream.write(f"\r{line:<{width}}")
    stream.flush()


def clear_line(stream: TextIO, width: int = LONG_LINE_WIDTH) -> None:
    """Takes the line away, and stands where it began."""
    rewrite_line(stream, "", width)
    stream.write("\r")
    stream.flush()
