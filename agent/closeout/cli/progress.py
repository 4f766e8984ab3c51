"""Progress on the error stream: one line that is rewritten on a terminal, nothing elsewhere."""

from __future__ import annotations

from closeout.cli.surroundings import Surroundings
from closeout.kernel.task import Progress, no_progress

LINE_WIDTH = 40


def make_progress(surroundings: Surroundings, *, quiet: bool) -> Progress:
    """Shows how far the reading is; off a terminal, or quiet, nobody is told."""
    stream = surroundings.stderr
    if quiet or not stream.isatty():
        return no_progress

    def show(done: int, total: int, name: str) -> None:
        shown = f"reading {done}/{total} {name}"[:LINE_WIDTH]
        ending = "\r" + " " * LINE_WIDTH + "\r" if done == total else ""
        stream.write(f"\r{shown:<{LINE_WIDTH}}{ending}")
        stream.flush()

    return show
