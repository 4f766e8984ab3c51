"""The console as small as the smallest screen that shows it."""

import os
import pty
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.media.stick import consoles as live
from closeout.media.stick.consoles import SCREEN, Consoles, set_size
from closeout.media.stick.screens import fit, read_frame, read_screens


@pytest.mark.parametrize(
    ("screens", "fitted"),
    [
        ([], (32, 80)),
        ([(1280, 1024)], (32, 80)),
        ([(1920, 1080)], (32, 80)),
        ([(1280, 1024), (1024, 768)], (24, 64)),
        ([(800, 1280), (1280, 1024)], (32, 50)),
        ([(16, 16)], (32, 80)),
    ],
)
def test_what_every_screen_shows(screens: list[tuple[int, int]], fitted: tuple[int, int]) -> None:
    """Letters of 16 by 32 dots in a frame of 1280 by 1024."""
    assert fit((32, 80), (1280, 1024), screens) == fitted


@given(
    console=st.tuples(st.integers(1, 300), st.integers(1, 500)),
    frame=st.tuples(st.integers(1, 9000), st.integers(1, 9000)),
    screens=st.lists(st.tuples(st.integers(1, 9000), st.integers(1, 9000)), max_size=4),
)
def test_it_never_grows(
    console: tuple[int, int], frame: tuple[int, int], screens: list[tuple[int, int]]
) -> None:
    rows, columns = fit(console, frame, screens)
    assert 0 < rows <= console[0]
    assert 0 < columns <= console[1]


def lay_out(folder: Path, **screens: tuple[str, str]) -> Path:
    for name, (status, modes) in screens.items():
        place = folder / f"card0-{name}"
        place.mkdir(parents=True)
        (place / "status").write_text(f"{status}\n")
        (place / "modes").write_text(modes)
    return folder


def test_screens_are_those_that_are_connected(tmp_path: Path) -> None:
    lay_out(
        tmp_path,
        A=("connected", "1920x1200\n1024x768\n"),
        B=("disconnected", "640x480\n"),
        C=("connected", ""),
        D=("connected", "1080xi\n"),
        E=("connected", "1920x1080i\n"),
        F=("connected", "0x0\n"),
    )
    (tmp_path / "card0").mkdir()
    assert read_screens(tmp_path) == ((1920, 1200), (1920, 1080))
    assert read_screens(tmp_path / "none") == ()


@pytest.mark.parametrize(
    ("text", "size"), [("1280,1024\n", (1280, 1024)), ("", None), ("x", None), ("0,0\n", None)]
)
def test_the_frame(tmp_path: Path, text: str, size: tuple[int, int] | None) -> None:
    (tmp_path / "size").write_text(text)
    assert read_frame(tmp_path / "size") == size
    assert read_frame(tmp_path / "none") is None


def test_the_screens_console_is_fitted_and_no_other(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ends = [pty.openpty() for _ in range(2)]
    for name, (_, end) in zip((SCREEN, "ttyS0"), ends, strict=True):
        (tmp_path / name).symlink_to(os.ttyname(end))
        set_size(end, (32, 80))
    both = Consoles((tmp_path / SCREEN, tmp_path / "ttyS0"))
    monkeypatch.setattr(live, "read_frame", lambda: (1280, 1024))
    monkeypatch.setattr(live, "read_screens", lambda: ((1280, 1024), (1024, 768)))
    both.fit_to_screens()
    assert [one.size() for one in both.all] == [(24, 64), (32, 80)]
    monkeypatch.setattr(live, "read_frame", lambda: None)
    both.fit_to_screens()
    assert [one.size() for one in both.all] == [(24, 64), (32, 80)]
    for pair in ends:
        for end in pair:
            os.close(end)
