"""The document of a kept report, set in a child; whatever becomes of the child is one line."""

import sys
from pathlib import Path

import pytest

from closeout.media.stick import document
from closeout.media.stick.document import find_makers, set_document
from closeout.media.stick.find import Volume
from closeout.media.stick.paper import NoPaper
from closeout.report.embedded import parse_document
from strategies.folder_door import FolderDoor
from strategies.written_attempt import write_demo

STICK = Volume(device="sd11", volume_id="1A2B-3C4D", label="CLOSEOUT")


def play(place: Path, script: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Puts a script in the place of Python."""
    file = place / "python"
    file.write_text(f"#!/bin/sh\n{script}\n")
    file.chmod(0o755)
    monkeypatch.setattr(sys, "executable", str(file))


@pytest.mark.wheel_oracle
def test_the_document_of_a_kept_report_holds_it(tmp_path: Path) -> None:
    attempt = write_demo(tmp_path)
    before = sorted(attempt.iterdir())
    makers = find_makers(STICK, FolderDoor(tmp_path / "sticks"))
    assert makers == ()
    made = set_document(attempt, makers)
    assert isinstance(made, bytes), made
    assert parse_document(made)["report.json"] == (attempt / "report.json").read_bytes()
    assert sorted(attempt.iterdir()) == before


@pytest.mark.wheel_oracle
def test_what_cannot_be_set_is_said_in_the_childs_words(tmp_path: Path) -> None:
    attempt = write_demo(tmp_path)
    (attempt / "report.json").write_bytes(b"{}")
    found = set_document(attempt, ())
    assert isinstance(found, NoPaper)
    assert "no report" in found.why
    assert not found.why.startswith("closeout:")


@pytest.mark.parametrize(
    ("script", "told"),
    [
        ("kill -9 $$", "setting it ended with signal 9"),
        ("exit 7", "code 7"),
        ("echo out of memory >&2; exit 1", "out of memory"),
        ("exit 0", "it cannot be set here: No such file or directory"),
    ],
)
def test_a_child_that_ends_badly(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, script: str, told: str
) -> None:
    play(tmp_path, script, monkeypatch)
    assert set_document(tmp_path, ()) == NoPaper(why=told)


def test_a_child_that_does_not_end(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    play(tmp_path, "exec sleep 60", monkeypatch)
    monkeypatch.setattr(document, "SECONDS", 0.1)
    assert set_document(tmp_path, ()) == NoPaper(why="it was not set within 0.1 s")


def test_no_python_to_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "executable", str(tmp_path / "none"))
    assert set_document(tmp_path, ()) == NoPaper(
        why="it cannot be set here: No such file or directory"
    )


def test_libraries_off_the_stick_come_first(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The child finds what the stick brings, and after it what the session finds."""
    monkeypatch.setattr(document, "find_spec", lambda _: None)
    monkeypatch.setattr(document, "take_paper", lambda *_: tmp_path / "paper")
    monkeypatch.setenv("PYTHONPATH", "/usr/lib/agent")
    play(tmp_path, 'echo "$PYTHONPATH" >&2; exit 1', monkeypatch)
    makers = find_makers(STICK, FolderDoor(tmp_path))
    assert makers == (tmp_path / "paper",)
    assert set_document(tmp_path, makers) == NoPaper(why=f"{tmp_path / 'paper'}:/usr/lib/agent")


def test_neither_here_nor_on_the_stick(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(document, "find_spec", lambda _: None)
    monkeypatch.setattr(document, "take_paper", lambda *_: NoPaper(why="no room"))
    assert find_makers(STICK, FolderDoor(tmp_path)) == NoPaper(why="no room")
