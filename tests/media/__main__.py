"""The stick of today's packages, and the project's tests on what it runs.

python tests/media build
python tests/media suite [-- PYTEST-ARGUMENT ...]
"""

import argparse
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from media.real_stick import Stick, built_stick
from notebook.image import Image, built_image, cache_folder
from notebook.suite import run_suite_in_root


class Layered(Image):
    """The stick's root over the notebooks', which brings the test suite's own packages.

    What both have is the stick's, Python and the libraries above all; but where the stick has a
    part of busybox, the tests have the program they were written for.
    """

    @property
    def root(self) -> Path:
        """Both, as the kernel's overlay takes them."""
        layers = (self.folder / "programs", self.folder / "stick", built_image().root)
        return Path(":".join(map(str, layers)))


def main() -> int:
    """Ends as pytest ended."""
    given = sys.argv[1:]
    cut = given.index("--") if "--" in given else len(given)
    parser = argparse.ArgumentParser(prog="media", description=(__doc__ or "").split("\n")[0])
    parser.add_argument("action", choices=("build", "suite"))
    asked = parser.parse_args(given[:cut])
    stick = built_stick()
    if asked.action == "build":
        sys.stdout.write(f"{stick.folder}\n")
        return 0
    with _mounted(stick) as folder:
        return run_suite_in_root(Layered(folder=folder, release=""), given[cut + 1 :])


@contextmanager
def _mounted(stick: Stick) -> Iterator[Path]:
    """A folder in which `stick` is the root that a unit would run."""
    with tempfile.TemporaryDirectory(dir=cache_folder()) as folder:
        place = Path(folder)
        archive = place / "root.cpio"
        volume = f"{stick.image}@@{stick.boot_offset}"
        subprocess.run(("mcopy", "-i", volume, "::/root.cpio", archive), check=True)
        with archive.open("rb") as packed:
            subprocess.run(("cpio", "-id", "--quiet"), stdin=packed, cwd=place, check=True)
        (place / "stick").mkdir()
        mounting = ("mount", "-o", "loop,ro", place / "root.squashfs", place / "stick")
        subprocess.run(mounting, check=True)
        try:
            _lay_programs(place)
            yield place
        finally:
            subprocess.run(("umount", place / "stick"), check=True)


def _lay_programs(place: Path) -> None:
    programs = place / "programs" / "usr" / "bin"
    programs.mkdir(parents=True)
    for link in (place / "stick/usr/bin").iterdir():
        whole = built_image().root / "usr/bin" / link.name
        if link.is_symlink() and str(link.readlink()) == "busybox" and whole.exists():
            shutil.copy(whole, programs / link.name)


if __name__ == "__main__":
    sys.exit(main())
