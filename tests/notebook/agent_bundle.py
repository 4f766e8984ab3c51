"""The agent as it stands in the checkout, packed for a guest: its code compiled, its profiles."""

import hashlib
import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from notebook.archive import pack_all
from notebook.image import Image

TOP: Final = Path(__file__).resolve().parent.parent.parent
INSTALLED: Final = "opt/closeout"
PACKED: Final = ("agent", "profiles", "reports")
COMMAND: Final = f"""#!/usr/bin/python3
import sys
sys.path.insert(0, "/{INSTALLED}/agent")
from closeout.cli.main import run
sys.exit(run())
"""


def agent_bundle(image: Image) -> Path:
    """An archive to be unpacked at the guest's root; kept until a file of the agent changes."""
    bundle = image.folder / f"agent-{agent_digest()}.cpio"
    if not bundle.is_file():
        for older in image.folder.glob("agent-*.cpio"):
            older.unlink(missing_ok=True)
        with tempfile.TemporaryDirectory(dir=image.root / "tmp") as folder:
            _lay_out(Path(folder))
            _compile(image.root, Path(folder) / INSTALLED / "agent")
            partial = bundle.with_suffix(f".{os.getpid()}")
            pack_all(Path(folder), partial)
        partial.rename(bundle)
    return bundle


def _files() -> Iterator[Path]:
    yield TOP / "pyproject.toml"
    for folder in PACKED:
        for file in sorted((TOP / folder).rglob("*")):
            if file.is_file() and "__pycache__" not in file.parts:
                yield file


def agent_digest() -> str:
    """Changes with every file that the bundle holds."""
    digest = hashlib.sha256(COMMAND.encode())
    for file in _files():
        digest.update(f"{file.relative_to(TOP)}\0".encode())
        digest.update(file.read_bytes())
    return digest.hexdigest()[:16]


def _lay_out(tree: Path) -> None:
    for file in _files():
        there = tree / INSTALLED / file.relative_to(TOP)
        there.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(file, there)
    command = tree / "usr/local/bin/closeout"
    command.parent.mkdir(parents=True)
    command.write_text(COMMAND, "utf-8")
    command.chmod(0o755)
    tree.chmod(0o755)


def _compile(root: Path, code: Path) -> None:
    """Compiled by the guest's own Python; never compared with the source again."""
    subprocess.run(
        [
            *("chroot", root, "python3", "-m", "compileall", "-q"),
            *("--invalidation-mode", "unchecked-hash", f"/{code.relative_to(root)}"),
        ],
        check=True,
        stdout=subprocess.DEVNULL,
    )
