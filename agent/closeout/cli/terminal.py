"""The output stream as a screen for words; importing this loads the console library."""

from __future__ import annotations

from typing import Any, NoReturn, TextIO

from rich.console import Console
from rich.text import Text

from closeout.report.screen import Piece


class Terminal(Console):
    """A console with colours that takes every text as it is."""

    def __init__(self, stream: TextIO, **options: Any) -> None:  # noqa: ANN401 - the library's own
        super().__init__(file=stream, markup=False, emoji=False, highlight=False, **options)

    def put(self, *pieces: Piece) -> None:
        """One line, as long as it is."""
        line = Text.assemble(*pieces)
        line.rstrip()
        self.print(line, soft_wrap=True)

    def on_broken_pipe(self) -> NoReturn:  # type: ignore[explicit-override]  # typing has it from 3.12
        """The library would end the process with 1, which says that the unit is held."""
        raise BrokenPipeError
