"""Texts laid on lines: as the console library would, whose way the shipped words were read in."""

import io

from hypothesis import given
from hypothesis import strategies as st
from rich.console import Console
from rich.text import Text

from closeout.cli.plain import Plain
from closeout.cli.terminal import Terminal
from closeout.report.console import render_console, render_inventory
from closeout.report.foreign import make_safe
from closeout.report.screen import columns, wrap
from strategies.sample_report import sample_report

WORDS = st.text(alphabet="ab-µé字 ", max_size=60).map(make_safe)


@given(WORDS, st.integers(min_value=2, max_value=30))
def test_lines_are_those_of_the_console_library(text: str, room: int) -> None:
    parts = Text(text).wrap(Console(file=io.StringIO()), room, overflow="fold")
    theirs = [part.plain.rstrip() for part in parts] or [""]
    assert [line.rstrip() for line in wrap(text, room)] == theirs


@given(st.text(max_size=80).map(make_safe), st.integers(min_value=2, max_value=30))
def test_no_line_is_too_long_and_nothing_is_lost(text: str, room: int) -> None:
    lines = wrap(text, room)
    assert max(columns(line.rstrip()) for line in lines) <= room
    assert "".join(lines).split() == text.split() or "".join(lines) == text.rstrip() or not text


def test_wide_letters_take_two_columns_and_marks_none() -> None:
    assert columns("abc") == 3
    assert columns("字a") == 3
    assert columns("e\u0301") == 1
    assert wrap("字字字", 4) == ["字字", "字"]


def test_a_file_gets_what_a_terminal_gets_without_its_colours() -> None:
    for width in (20, 40, 80, 200):
        plain, coloured = io.StringIO(), io.StringIO()
        for screen in (Plain(plain, width), Terminal(coloured, width=width, color_system=None)):
            render_console(sample_report(), screen, ("a/b",))
            render_inventory(sample_report().inventory, screen)
        assert plain.getvalue() == coloured.getvalue()
