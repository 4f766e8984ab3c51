"""Booted notebooks for the tests marked `notebook`, each started once in a worker."""

import shutil
from collections.abc import Callable, Hashable, Iterator
from contextlib import ExitStack

import pytest

from notebook.description import load_notebook
from notebook.image import Image, built_image
from notebook.machine import Machine
from notebook.template import restored

Once = Callable[[Hashable, Callable[[], object]], object]

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


@pytest.fixture(scope="session")
def once() -> Once:
    """A function that makes what has a key the first time it is asked for, and keeps it.

    Tests come in any order; a fixture with parameters would make it again at each change.
    """
    kept: dict[Hashable, object] = {}

    def make_once(key: Hashable, make: Callable[[], object]) -> object:
        if key not in kept:
            kept[key] = make()
        return kept[key]

    return make_once
