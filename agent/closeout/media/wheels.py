"""What documents are made with on a stick: two libraries for Python that Debian has not.

They lie in the folder `paper` of the volume that desktops show, so that a start loads nothing more.
"""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Iterator
from importlib.util import find_spec
from pathlib import Path
from typing import Final

from closeout.media.lock import Lock, Package, is_kept, place_of
from closeout.media.programs import run_in
from closeout.media.shared import PAPER
from closeout.media.trouble import MediaError

WHEELS: Final = (
    Package(
        name="segno",
        version="1.6.6",
        file="segno-1.6.6-py3-none-any.whl",
        size=76_503,
        sha256="28c7d081ed0cf935e0411293a465efd4d500704072cdb039778a2ab8736190c7",
    ),
    Package(
        name="typst",
        version="0.15.2",
        file="typst-0.15.2-cp39-abi3-manylinux2014_x86_64.manylinux_2_17_x86_64.whl",
        size=34_108_350,
        sha256="99fe0916980cab453e60332125e133c737bf3b76efd325b60d055c551e5887a1",
    ),
)
LICENCES: Final = {"segno": ("BSD-3-Clause",), "typst": ("Apache-2.0",)}
"""As the wheels' own METADATA says; each brings the text."""
MISSING: Final = "pip is missing: install the package python3-pip, or build with --no-pdf"
PLATFORM: Final = ("--python-version", "3.13", "--platform", "manylinux2014_x86_64")
OPTIONS: Final = ("--quiet", "--disable-pip-version-check", "--no-input", "--no-deps")


def missing_for_wheels(cache: Path) -> Iterator[str]:
    """A line where wheels must be fetched and there is nothing to fetch them with."""
    if tuple(_absent(WHEELS, cache)) and not _pip():
        yield MISSING


def fetch_wheels(lock: Lock, cache: Path) -> None:
    """Fetches what the cache has not, from where pip of this host takes packages.

    The digests are compared by pip, and once more by us.
    """
    for wheel in _absent(lock.parts[PAPER], cache):
        place = place_of(wheel, cache)
        place.parent.mkdir(exist_ok=True)
        arriving = cache / "arriving"
        shutil.rmtree(arriving, ignore_errors=True)
        arriving.mkdir()
        wanted = arriving / "wanted.txt"
        line = f"{wheel.name}=={wheel.version} --hash=sha256:{wheel.sha256}\n"
        wanted.write_text(line, "ascii")
        how = ("download", *OPTIONS, *PLATFORM, "--only-binary=:all:", "--require-hashes")
        # In the host's own surroundings, which say where pip takes packages from.
        run_in(os.environ, (*_pip(), *how, "--dest", arriving, "--requirement", wanted))
        (arriving / wheel.file).replace(place)
        shutil.rmtree(arriving)
        if not is_kept(wheel, cache):
            raise MediaError(f"{place}: is not the file that was asked for (SHA-256 differs)")


def files_on_stick(lock: Lock, cache: Path) -> dict[str, Path | bytes]:
    """The wheels by their paths on the volume; none for a stick without documents."""
    return {f"{PAPER}/{wheel.file}": place_of(wheel, cache) for wheel in lock.parts[PAPER]}


def _absent(wheels: tuple[Package, ...], cache: Path) -> Iterator[Package]:
    return (wheel for wheel in wheels if not is_kept(wheel, cache))


def _pip() -> tuple[str, ...]:
    """How pip is called here; empty where it is not installed."""
    if find_spec("pip"):
        return (sys.executable, "-m", "pip")
    found = shutil.which("pip") or shutil.which("pip3")
    return (found,) if found else ()
