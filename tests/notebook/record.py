"""Records what agent and tools say in notebooks, as the fixtures of the comparison.

    python tests/notebook/record.py fen-14 skerry-13 osier-15

What was recorded before is replaced; the change shows what tools and agent say otherwise now.
"""

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Final

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from notebook.description import load_notebook
from notebook.image import PACKAGES, Image, built_image
from notebook.machine import Machine
from notebook.opinions import ORDINARY_USER, ask_tools, ask_versions
from notebook.recorded_answers import FIXTURES, Answers, write_answers, write_versions
from notebook.template import restored

USERS: Final = ("root", ORDINARY_USER)
WITHOUT_NEED: Final = frozenset({"git", "make"})
CAPTURED: Final = "/tmp/unit.jsonl.gz"  # noqa: S108 - in the guest
PATIENCE: Final = 120.0


def main(given: Sequence[str] | None = None) -> int:
    """Records each notebook that is named."""
    parser = argparse.ArgumentParser(prog="record", description=(__doc__ or "").split("\n")[0])
    parser.add_argument("notebooks", nargs="+", metavar="NOTEBOOK")
    image = built_image()
    for name in parser.parse_args(given).notebooks:
        record(name, image, FIXTURES / name)
    return 0


def record(name: str, image: Image, folder: Path) -> None:
    """The fixtures of one notebook, all of one session."""
    with restored(load_notebook(name), image) as machine:
        for user in USERS:
            write_answers(folder / user, ask_all(machine, user))
        packages = {package: image.packages[package] for package in _packages_of(image)}
        write_versions(folder / "versions.toml", ask_versions(machine), packages)


def ask_all(machine: Machine, user: str) -> Answers:
    """What the agent and the tools tell a user."""
    ran = machine.session.run("closeout", "capture", "-o", CAPTURED, user=user, seconds=PATIENCE)
    if ran.status:
        raise RuntimeError(f"closeout capture ended with {ran.status}: {ran.err.decode()}")
    evidence = machine.session.read(CAPTURED)
    machine.session.run("rm", CAPTURED)
    return Answers(outputs=ask_tools(machine, user), evidence=evidence)


def _packages_of(image: Image) -> tuple[str, ...]:
    """Those that are asked for by name, and the kernel's own."""
    wanted = {*PACKAGES, f"linux-image-{image.release}"} - WITHOUT_NEED
    return tuple(sorted(wanted & image.packages.keys()))


if __name__ == "__main__":
    sys.exit(main())
