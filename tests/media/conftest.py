"""A build whose programs are played; the image that booted units share with the notebooks."""

import json
from pathlib import Path
from typing import Any

import pytest

from closeout.media import packages, programs, volumes, wheels
from media.played_programs import WHEELS, PlayedPrograms
from notebook.conftest import image as notebook_image
from notebook.image import Image
from oracles import fat_tools
from strategies.surroundings import call_in

__all__ = ("notebook_image",)


@pytest.fixture(scope="session")
def image(notebook_image: Image) -> Image:
    """The image; skips, and says why, where no sticks can be made."""
    if reason := fat_tools.reason_to_skip():
        pytest.skip(reason)
    return notebook_image


@pytest.fixture
def played(monkeypatch: pytest.MonkeyPatch) -> PlayedPrograms:
    """The programs, which take the place of the host's."""
    played = PlayedPrograms()
    monkeypatch.setattr(programs.subprocess, "run", played)
    monkeypatch.setattr(programs.os, "geteuid", lambda: 0)
    monkeypatch.setattr(
        programs.shutil, "which", lambda program, path="/usr/bin": f"{path}/{program}"
    )
    monkeypatch.setattr(wheels, "find_spec", lambda _: None)
    for module in (packages, wheels):
        monkeypatch.setattr(module, "WHEELS", tuple(WHEELS))
    monkeypatch.setattr(programs, "KEYRING", __file__)
    monkeypatch.setattr(volumes, "SHARED_SIZE", volumes.MIB)
    monkeypatch.setattr(volumes, "SMALLEST", volumes.MIB)
    return played


@pytest.fixture
def stick(played: PlayedPrograms, tmp_path: Path) -> Path:
    """The folder of a small build."""
    assert played.called == []
    told = call_in(tmp_path, "media", "build", "--cache", tmp_path / "cache", "-o", "stick")
    assert told.code == 0, told.err
    return tmp_path / "stick"


@pytest.fixture
def manifest(stick: Path) -> dict[str, Any]:
    """Its manifest."""
    read: dict[str, Any] = json.loads((stick / "manifest.json").read_text("utf-8"))
    return read
