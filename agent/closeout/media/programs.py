"""Programs that a build runs: the host's few, and those of an unpacked tree."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Final

from closeout.media.recipe import KEYRING
from closeout.media.trouble import MediaError

HOST_PROGRAMS: Final = {
    "apt-cache": "apt",
    "apt-get": "apt",
    "chroot": "coreutils",
    "dpkg-deb": "dpkg",
}
"""Each with its Debian package. All else comes out of the packages of the build."""
PATH: Final = "/usr/sbin:/usr/bin:/sbin:/bin"
LAST_LINES: Final = 5


def missing_on_host(*, is_offline: bool) -> Iterator[str]:
    """A line for each thing that a build needs and this host has not."""
    for program, package in HOST_PROGRAMS.items():
        if shutil.which(program, path=PATH) is None and not (is_offline and package == "apt"):
            yield f"{program} is missing: install the package {package}"
    if not is_offline and not Path(KEYRING).is_file():
        yield f"{KEYRING} is missing: install the package debian-archive-keyring"
    if os.geteuid() != 0:
        yield "a build needs root, to run the tools of the packages inside their tree: use sudo"


def run(command: Sequence[str | Path], more: Mapping[str, str] | None = None) -> bytes:
    """What a program printed; raises MediaError with the end of its complaint if it failed."""
    return run_in({"PATH": PATH, **(more or {})}, command)


def run_in(surroundings: Mapping[str, str], command: Sequence[str | Path]) -> bytes:
    """The same in surroundings that are given whole."""
    surroundings = {"LC_ALL": "C.UTF-8", **surroundings}
    try:
        done = subprocess.run(command, capture_output=True, check=False, env=surroundings)
    except OSError as error:
        raise MediaError(f"{command[0]}: cannot be run: {error.strerror}") from error
    if done.returncode:
        said = (done.stderr or done.stdout).decode("utf-8", "replace").strip().splitlines()
        words = " ".join(map(str, command[:4]))
        raise MediaError(f"{words} …: ended with {done.returncode}", *said[-LAST_LINES:])
    return done.stdout


def run_inside(tree: Path, *command: str | Path, when: int | None = None) -> bytes:
    """The same for a program of a tree, with the tree as its root; `when` dates what it writes."""
    dated = {} if when is None else {"SOURCE_DATE_EPOCH": str(when)}
    return run(("chroot", tree, *command), {"PYTHONHASHSEED": "0", "TZ": "UTC", **dated})
