"""This agent as it lies in a root, laid out like a checkout: its modules, profiles and schemas."""

from __future__ import annotations

import hashlib
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from closeout.expect.shipped import PACKAGE, shipped_folder

HOME: Final = "usr/lib/closeout"
COMMAND: Final = """#!/bin/sh
PYTHONPATH=/usr/lib/closeout/agent exec /usr/bin/python3 -m closeout "$@"
"""
FIRST_PROGRAM: Final = """#!/bin/sh
# The first program of a unit that was started from the stick.
export PATH=/usr/sbin:/usr/bin LANG=C.UTF-8 PYTHONPATH=/usr/lib/closeout/agent
exec /usr/bin/python3 -m closeout.media.stick
"""
MARK: Final = '[project]\nname = "closeout"\n'
"""Tells the agent that profiles and schemas lie beside it, as in a checkout."""
UNWANTED: Final = ("__pycache__", "shipped", "*.pyc")


def lay_agent(root: Path) -> None:
    """Puts the agent, its command and the first program into the root."""
    home = root / HOME
    unwanted = shutil.ignore_patterns(*UNWANTED)
    shutil.copytree(PACKAGE, home / "agent" / "closeout", ignore=unwanted)
    for name in ("profiles", "reports"):
        shutil.copytree(shipped_folder(name), home / name, ignore=unwanted)
    (home / "pyproject.toml").write_text(MARK, "utf-8")
    _write_program(root / "usr/bin/closeout", COMMAND)
    _write_program(root / "usr/sbin/init", FIRST_PROGRAM)


def agent_digest(root: Path) -> str:
    """SHA-256 over names and contents of the agent's sources and files in the root."""
    digest = hashlib.sha256()
    home = root / HOME
    for path in _files(home):
        digest.update(f"{path.relative_to(home)}\0{path.stat().st_size}\0".encode())
        digest.update(path.read_bytes())
    return digest.hexdigest()


def _files(home: Path) -> Iterator[Path]:
    for path in sorted(home.rglob("*")):
        if path.is_file() and path.suffix != ".pyc":
            yield path


def _write_program(file: Path, text: str) -> None:
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(text, "utf-8")
    file.chmod(0o755)
