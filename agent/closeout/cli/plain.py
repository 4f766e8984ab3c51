"""The output stream as a screen for words where no terminal shows colours: a file, a pipe."""

from __future__ import annotations

import os
import sys
from typing import Final, TextIO

from closeout.report.screen import Piece, Screen

USUAL_WIDTH: Final = 80
USUAL_HEIGHT: Final = 24
ASKS_FOR_COLOUR: Final = ("FORCE_COLOR", "TTY_COMPATIBLE")
"""Variables that make a terminal of what is none, as the console library reads them."""


class Plain:
    """Lines without colour, as wide as the terminal that the command was started in."""

    def __init__(self, stream: TextIO, width: int) -> None:
        self._stream = stream
        self.width = width
        self.encoding = stream.encoding or "utf-8"

    def put(self, *pieces: Piece) -> None:
        """One line, as long as it is."""
        self._stream.write("".join(text for text, _ in pieces).rstrip() + "\n")


def make_screen(stream: TextIO) -> Screen:
    """A terminal with its colours, else plain lines; only the first needs the console library."""
    if stream.isatty() or any(name in os.environ for name in ASKS_FOR_COLOUR):
        from closeout.cli.terminal import Terminal  # noqa: PLC0415 - the console library

        # Told both, it does not take 80 columns for granted where the terminal is called dumb.
        return Terminal(stream, width=terminal_width(), height=USUAL_HEIGHT)
    return Plain(stream, terminal_width())


def terminal_width() -> int:
    """Columns of the terminal that the command was started in, if there is one."""
    told = os.environ.get("COLUMNS", "")
    if told.isdigit() and int(told):
        return int(told)
    for stream in (sys.__stdin__, sys.__stdout__, sys.__stderr__):
        try:
            width = os.get_terminal_size(stream.fileno()).columns if stream else 0
        except (OSError, ValueError):
            continue
        if width:
            return width
    return USUAL_WIDTH
