"""The suite in the image: which files go there, and that nothing of it stays."""

import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest

from notebook.image import Image
from notebook.suite import TOP, files_of, in_root, run_suite_in_root

TESTS = TOP / "tests"
AS_ITS_OWN_PROCESS = f"""
import sys
from pathlib import Path
sys.path[:0] = [{str(TESTS)!r}]
from notebook.image import Image
from notebook.suite import in_root
sys.exit(in_root(Image(folder=Path(sys.argv[1]), release=""), ("sleep", sys.argv[2])))
"""
SECONDS = "43210"
PATIENCE = 60.0


@pytest.mark.oracle
@pytest.mark.skipif(shutil.which("git") is None, reason="git is not installed")
def test_a_checkout_goes_as_it_is_now(tmp_path: Path) -> None:
    def git(*words: str) -> None:
        subprocess.run(["git", *words], cwd=tmp_path, check=True, capture_output=True)

    git("init")
    (tmp_path / ".gitignore").write_text("*.log\n")
    for name in ("kept", "gone", "run.log"):
        (tmp_path / name).touch()
    git("add", ".gitignore", "kept", "gone")
    (tmp_path / "gone").unlink()
    (tmp_path / "new one").touch()
    assert sorted(files_of(tmp_path)) == [".gitignore", "kept", "new one"]


@pytest.mark.notebook
def test_a_command_in_the_root_leaves_nothing_behind(image: Image) -> None:
    marks = "touch /was-here && test -e /srv/closeout/pyproject.toml && exit 7"
    assert in_root(image, ("sh", "-c", marks)) == 7
    assert not (image.root / "was-here").exists()
    assert not (image.root / "srv/closeout").exists()
    assert list((image.folder / "suite").iterdir()) == []


@pytest.mark.notebook
def test_the_suite_ends_as_pytest_ends(image: Image) -> None:
    chosen = ("tests/model/test_verdict.py", "-q")
    assert run_suite_in_root(image, chosen) == 0
    assert run_suite_in_root(image, (*chosen, "-k", "no_such_test")) == 5


@pytest.mark.notebook
def test_what_was_started_ends_with_who_started_it(image: Image) -> None:
    command = [sys.executable, "-c", AS_ITS_OWN_PROCESS, str(image.folder), SECONDS]
    with subprocess.Popen(command) as starter:
        wait_until(running=True)
        starter.kill()
    wait_until(running=False)
    assert list((image.folder / "suite").iterdir()) == []


def wait_until(*, running: bool) -> None:
    until = time.monotonic() + PATIENCE
    while is_running() != running:
        assert time.monotonic() < until
        time.sleep(0.1)


def is_running() -> bool:
    listed = subprocess.run(["ps", "-eo", "args="], check=True, capture_output=True, text=True)
    return f"sleep {SECONDS}" in listed.stdout.splitlines()
