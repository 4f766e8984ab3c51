"""The project's own tests on the image's Python: in its root at full speed, or in the booted guest.

The image is another Debian than the one that the project is developed on, with another Python and
other versions of every tool that the tests compare with. All tests run in its root; the guest is
where those that ask the machine meet the kernel and the devices of a notebook.
"""

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import replace
from importlib.util import find_spec
from pathlib import Path
from typing import IO, Final

from notebook.archive import pack
from notebook.description import load_notebook
from notebook.image import Image
from notebook.machine import Machine
from notebook.template import restored
from open_data import VARIABLE, open_data_folder

TOP: Final = Path(__file__).resolve().parent.parent.parent
IN_ROOT: Final = Path(__file__).with_name("suite_in_root.sh")
CHECKOUT: Final = "/srv/closeout"
DATA: Final = "/srv/data"
UNPACKAGED: Final = "/srv/unpackaged"
"""Modules of one file that the tests import and the image's Debian has no package of."""
MODULES: Final = ("mfusepy",)
SURROUNDINGS: Final = (
    *("env", "-i", "-C", CHECKOUT, "HOME=/root", "LANG=C.UTF-8"),
    "PATH=/usr/local/bin:/usr/sbin:/usr/bin:/sbin:/bin",
    *(f"PYTHONPATH={CHECKOUT}/agent:{UNPACKAGED}", f"{VARIABLE}={DATA}"),
)
UNSHARED: Final = (
    *("setpriv", "--pdeathsig", "KILL"),
    *("unshare", "--mount", "--pid", "--fork", "--kill-child"),
)
"""Killed with the process that started it, and everything inside with it."""
NO_SKIPS: Final = "CLOSEOUT_NO_SKIPS"
TESTS: Final = (
    *("python3", "-m", "pytest", "-p", "no:cacheprovider"),
    *("-m", "not notebook and not wheel_oracle"),
)
"""Those marked `notebook` boot notebooks themselves; there is no emulator in the image. Those
marked `wheel_oracle` compare with a library that Debian has no package of, or too large a one.
"""
AT_A_DESK: Final = (
    "--ignore=tests/depot",
    "--ignore-glob=*/test_depot_*.py",
    "--ignore=tests/cli/test_document_command.py",
    "--ignore=tests/report/test_pades.py",
)
"""Left out: ledger and documents have libraries at a desk that Debian has no packages of."""
PROCESSES: Final = ("-n", "2")

GUEST: Final = "osier-15"
"""It starts without Secure Boot, which keeps files from being handed over through memory."""
GUEST_MIB: Final = 3072
"""Everything lies in memory, and tests of hostile answers are large; half of it is too little."""
BUNDLE: Final = "/run/notebook/suite.cpio.zst"
PACK: Final = """cd / && find srv usr/lib/python3/dist-packages/hypothesis |
busybox cpio -o -H newc 2>/dev/null | zstd --quiet"""
"""The checkout with the data, and what tests import that `image.LEFT_OUT` keeps out of a guest."""
UNPACK: Final = f"cd / && zstd --quiet --decompress --stdout {BUNDLE} | busybox cpio -idm"
ASK_THE_MACHINE: Final = (
    *("tests/kernel", "tests/readers"),
    *("tests/test_live.py", "tests/test_enclosure.py"),
)
"""All that are marked `live` are among them; they take eleven minutes on two cores."""
BOOTED_SECONDS: Final = 3600.0


def run_suite_in_root(image: Image, arguments: Sequence[str]) -> int:
    """Runs the tests, or those that pytest's arguments choose, in the root; as pytest ends."""
    return in_root(image, _pytest((*PROCESSES, *arguments)))


def run_suite_booted(image: Image, arguments: Sequence[str]) -> int:
    """Runs tests in the guest, without arguments those that ask the machine; as pytest ends."""
    notebook = replace(load_notebook(GUEST), memory_mib=GUEST_MIB)
    with restored(notebook, image) as machine:
        _bring_suite(image, machine)
        command = _pytest((*PROCESSES, *(arguments or ASK_THE_MACHINE)))
        ran = machine.session.run(*command, seconds=BOOTED_SECONDS)
    sys.stdout.write(ran.text)
    sys.stderr.write(ran.err.decode("utf-8", "replace"))
    return ran.status


def _pytest(arguments: Sequence[str]) -> tuple[str, ...]:
    told = os.environ.get(NO_SKIPS, "")
    return (*SURROUNDINGS, f"{NO_SKIPS}={told}", *TESTS, *AT_A_DESK, *arguments)


def _bring_suite(image: Image, machine: Machine) -> None:
    with tempfile.TemporaryFile() as bundle:
        if in_root(image, ("sh", "-c", PACK), bundle):
            raise RuntimeError("the suite could not be packed")
        bundle.seek(0)
        machine.hand_over(bundle.read(), BUNDLE)
    machine.session.run("sh", "-c", UNPACK)


def in_root(image: Image, command: Sequence[str], out: IO[bytes] | None = None) -> int:
    """Runs a command in the root, beside the checkout; as it ends."""
    place = image.folder / "suite"
    place.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        checkout = Path(folder) / "checkout.cpio"
        pack(TOP, files_of(TOP), checkout)
        modules = Path(folder) / "modules"
        _copy_modules(modules)
        with checkout.open("rb") as given:
            places = map(str, (IN_ROOT, place, image.root, open_data_folder(), modules))
            ran = subprocess.run(
                [*UNSHARED, "bash", *places, *command], stdin=given, stdout=out, check=False
            )
    return ran.returncode


def _copy_modules(folder: Path) -> None:
    folder.mkdir()
    for name in MODULES:
        found = find_spec(name)
        if found is None or found.origin is None:
            raise RuntimeError(f"{name} is not installed here")
        shutil.copy(found.origin, folder)


def files_of(checkout: Path) -> list[str]:
    """The files of a checkout as they are now, new ones too, without those that git ignores."""
    command = ("git", "ls-files", "-z", "--cached", "--others", "--exclude-standard")
    listed = subprocess.run(command, cwd=checkout, capture_output=True, check=True, text=True)
    return [name for name in listed.stdout.split("\0") if name and (checkout / name).is_file()]
