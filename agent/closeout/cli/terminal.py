"""The output stream as a console for words; importing this loads the console library."""

from typing import NoReturn, TextIO

from rich.console import Console


class Terminal(Console):
    """A console that takes every text as it is."""

    def __init__(self, stream: TextIO) -> None:
        super().__init__(file=stream, markup=False, emoji=False, highlight=False)

    def on_broken_pipe(self) -> NoReturn:  # type: ignore[explicit-override]  # typing has it from 3.12
        """The library would end the process with 1, which says that the unit is held."""
        raise BrokenPipeError
