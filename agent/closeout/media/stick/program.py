"""Which agent and which profiles the session runs with: those built in, or newer ones in memory."""

from __future__ import annotations

import shutil
from collections.abc import Mapping
from pathlib import Path
from typing import Final

BUILT_IN: Final = Path("/usr/lib/closeout")
PLACE: Final = Path("/run/closeout/program")
SHIPPED: Final = Path("agent/closeout/shipped/profiles")
TOP: Final = "pyproject.toml"
"""By it the agent knows that the profiles beside its folder are its own."""


def lay_out_program(
    built_in: Path, agent: Mapping[str, bytes], profiles: Mapping[str, bytes], place: Path
) -> Path:
    """The folder that the session imports from; without an update the built-in one.

    Profiles are laid over the built-in ones, file by file: a stick may carry a depot's own alone.
    """
    if not agent and not profiles:
        return built_in / "agent"
    shutil.rmtree(place, ignore_errors=True)
    left_out = shutil.ignore_patterns("agent") if agent else None
    shutil.copytree(built_in, place, ignore=left_out)
    (place / TOP).touch()
    _write(place / "agent", agent)
    has_own = (place / SHIPPED).is_dir()
    _write(place / SHIPPED if has_own else place / "profiles", profiles)
    return place / "agent"


def _write(folder: Path, files: Mapping[str, bytes]) -> None:
    for name, content in files.items():
        file = folder / name
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(content)
