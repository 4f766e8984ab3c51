"""A file of the machine whose read is never answered: a check in a pipeline ends on time."""

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from closeout.kernel.deadlines import RUN_SECONDS

pytestmark = [pytest.mark.live, pytest.mark.slow]

PROGRAM = Path(__file__).with_name("silent_file.py")
LIBRARY = next(map(str, sorted(Path("/usr/lib").glob("*/libfuse3.so.?"))), "")
"""By its file, for in the stick's root the loader has no list that would name it."""
STARTS = 60.0
"""Seconds: room for a busy machine to start and to write the reports."""
HUNG_FILE = "/proc/meminfo"
COMMAND = f"""
set -e
mount --make-rprivate /
mount --bind "$1/silent" {HUNG_FILE}
"$0" -m closeout check --out "$2" 2>&1 | cat > "$2/said"
"""


@pytest.fixture
def silent(tmp_path: Path) -> Iterator[Path]:
    """The folder with the file; whoever is stuck in it is let go afterwards."""
    if os.geteuid() or not Path("/dev/fuse").exists():
        pytest.skip("needs root and /dev/fuse to mount a filesystem of its own")
    folder = tmp_path / "mounted"
    folder.mkdir()
    with subprocess.Popen(
        [sys.executable, str(PROGRAM), str(folder)],
        env={"FUSE_LIBRARY_PATH": LIBRARY, **os.environ},
        stderr=subprocess.DEVNULL,
    ) as server:
        until = time.monotonic() + STARTS
        while not os.path.ismount(folder) and time.monotonic() < until:
            time.sleep(0.05)
        assert os.path.ismount(folder), "the filesystem was not mounted"
        yield folder
        server.send_signal(signal.SIGKILL)
    subprocess.run(["umount", "--lazy", str(folder)], check=False)


def stuck_in_the_kernel() -> int:
    """Processes in uninterruptible sleep that were our children."""
    states = []
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            command = (folder / "cmdline").read_bytes()
            state = (folder / "stat").read_text().rpartition(")")[2].split()[0]
        except OSError:
            continue
        if b"closeout" in command:
            states.append(state)
    return states.count("D")


def test_the_pipeline_ends_though_its_reader_never_does(silent: Path, tmp_path: Path) -> None:
    out = tmp_path / "reports"
    out.mkdir()
    begun = time.monotonic()
    command = ["unshare", "--mount", "sh", "-c", COMMAND]
    done = subprocess.run(
        [*command, sys.executable, str(silent), str(out)], timeout=RUN_SECONDS + STARTS, check=True
    )
    assert done.returncode == 0
    assert time.monotonic() - begun < RUN_SECONDS + STARTS
    assert stuck_in_the_kernel() >= 1, "nothing hung, so nothing was shown"
    (report,) = [json.loads(file.read_bytes()) for file in out.rglob("report.json")]
    unanswered = {each["question"]: each["error"] for each in report["unanswered"]}
    assert unanswered[HUNG_FILE.lstrip("/")] == "DEADLINE"
    assert report["verdict"] != "release"
    assert "Traceback" not in (out / "said").read_text()
