"""Which screen the words go to, and how wide it is."""

import io
import os
import sys

import pytest

from closeout.cli.plain import Plain, make_screen, terminal_width
from closeout.cli.terminal import Terminal


class Tty(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        """It is one."""
        return True


@pytest.fixture(autouse=True)
def _no_wishes(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("COLUMNS", "FORCE_COLOR", "TTY_COMPATIBLE"):
        monkeypatch.delenv(name, raising=False)


def test_colours_are_for_terminals_and_who_asks_for_them(monkeypatch: pytest.MonkeyPatch) -> None:
    assert isinstance(make_screen(io.StringIO()), Plain)
    assert isinstance(make_screen(Tty()), Terminal)
    monkeypatch.setenv("FORCE_COLOR", "1")
    assert isinstance(make_screen(io.StringIO()), Terminal)


def test_the_width_is_asked_for_then_found_then_the_usual_one(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    sizes = {0: OSError(), 1: os.terminal_size((0, 0)), 2: os.terminal_size((132, 40))}

    def size(number: int) -> os.terminal_size:
        found = sizes[number]
        if isinstance(found, OSError):
            raise found
        return found

    class Stream:
        def __init__(self, number: int) -> None:
            self.fileno = lambda: number

    for number, name in enumerate(("__stdin__", "__stdout__", "__stderr__")):
        monkeypatch.setattr(sys, name, Stream(number))
    monkeypatch.setattr(os, "get_terminal_size", size)
    assert terminal_width() == 132
    monkeypatch.setattr(sys, "__stderr__", None)
    assert terminal_width() == 80
    monkeypatch.setenv("COLUMNS", "100")
    assert terminal_width() == 100
    monkeypatch.setenv("COLUMNS", "wide")
    assert terminal_width() == 80
