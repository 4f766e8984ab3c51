"""Booted notebooks for the tests marked `notebook`, each started once in a worker."""

import shutil
from collections.abc import Callable, Iterator
from contextlib import ExitStack

import pytest

from notebook.description import load_notebook
from notebook.image import Image, built_image
from notebook.machine import Machine
from notebook.template import restored

PROGRAMS = ("qemu-system-x86_64", "swtpm", "mmdebstrap", "iasl", "cpio", "sbsign", "zstd")


@pytest.fixture(scope="session")
def image() -> Image:
    """The image that notebooks boot; skips, and says why, where it cannot be built."""
    if missing := [program for program in PROGRAMS if shutil.which(program) is None]:
        pytest.skip(f"booting a notebook needs {', '.join(missing)}")
    return built_image()


@pytest.fixture(scope="session")
def booted(image: Image) -> Iterator[Callable[[str], Machine]]:
    """A function that gives the notebook of a name, as it is after its start.

    One at a time: to ask for another ends the one before.
    """
    running: dict[str, Machine] = {}
    with ExitStack() as ends:

        def boot(name: str) -> Machine:
            if name not in running:
                ends.close()
                running.clear()
                running[name] = ends.enter_context(restored(load_notebook(name), image))
            return running[name]

        yield boot
