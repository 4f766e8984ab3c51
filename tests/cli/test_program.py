"""The program itself, as a shell starts it: streams, pipes and what is left behind."""

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from strategies.laid_out import healthy

PROGRAM = (sys.executable, "-m", "closeout")
BUFFERED = {name: value for name, value in os.environ.items() if name != "PYTHONUNBUFFERED"}
"""What a stream that broke still holds is part of what is tested."""
SOON = 60.0
"""Seconds that a busy machine may take."""


def shell(command: str, folder: Path) -> subprocess.CompletedProcess[bytes]:
    """The command in a shell that has the program as `closeout`; fails where a pipe part does."""
    program = " ".join(PROGRAM)
    start = f'set -o pipefail; closeout() {{ {program} "$@"; }}; '
    return subprocess.run(
        ["bash", "-c", start + command],
        cwd=folder,
        capture_output=True,
        timeout=SOON,
        check=False,
        env=BUFFERED,
    )


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """A folder with the healthy notebook in `unit`."""
    healthy(tmp_path / "unit")
    return tmp_path


def test_the_exit_code_of_the_program_is_the_verdict(place: Path) -> None:
    healthy(place / "nameless", serial=" ")
    for unit, code in (("unit", 0), ("nameless", 1), ("missing", 2)):
        told = shell(f"closeout check --root {unit} --quiet", place)
        assert told.returncode == code
        assert (told.stdout + told.stderr).count(b"\n") == 1
    assert shell("closeout check --root", place).returncode == 2


def test_json_on_a_pipe_is_the_report(place: Path) -> None:
    told = shell("PYTHONIOENCODING=ascii closeout check --root unit --json | cat", place)
    (report,) = place.glob("closeout-reports/no-order/*/report.json")
    assert told.stdout == report.read_bytes()
    assert told.stderr == b""


@pytest.mark.parametrize(
    ("command", "said"),
    [
        ("yes NW83KD20 | head -100000 | closeout field --field a | head -1", b'{"state"'),
        ("closeout show --root unit | head -2", b"\nUnit"),
        ("closeout show --root unit --json | head -1", b"{"),
        ("closeout demo | head -2", b"\n=== fen-14-healthy"),
        ("closeout check --help | head -1", b"usage: "),
        ("closeout field --field a < /dev/null | true", b""),
    ],
)
def test_a_reader_that_goes_away_leaves_no_traceback(
    place: Path, command: str, said: bytes
) -> None:
    told = shell(command, place)
    assert told.stderr == b""
    assert told.stdout.startswith(said)
    assert told.returncode != 1, "1 would say that the unit is held"


def test_a_reader_that_goes_away_is_no_hold_and_costs_no_report(place: Path) -> None:
    told = shell("closeout check --root unit | true", place)
    assert told.returncode in {0, 2}
    assert told.stderr == b""
    assert len(list(place.glob("closeout-reports/no-order/*/report.html"))) == 1


@pytest.mark.parametrize(
    "command", ["check --root unit", "check --root unit --json", "show --root unit"]
)
def test_a_full_disk_behind_the_output(place: Path, command: str) -> None:
    told = shell(f"closeout {command} > /dev/full", place)
    assert told.returncode == 2
    assert told.stderr == b"closeout: the output takes no more: No space left on device\n"


def test_nobody_to_tell(place: Path) -> None:
    for streams in ("> /dev/full 2>&1", "2> /dev/full", ">&-", "2>&-", ">&- 2>&-"):
        assert shell(f"closeout check --root missing {streams}", place).returncode == 2
    assert shell("closeout check --root unit >&- 2>&-", place).returncode == 0
    assert shell("closeout field --field a <&-", place).returncode == 0


def test_a_full_disk_behind_the_reports(place: Path) -> None:
    """The verdict is said, one line says why there is no report, and nothing is left behind."""
    # The limit would hit the measuring of coverage in the child as well.
    unmeasured = "unset COVERAGE_PROCESS_CONFIG COVERAGE_PROCESS_START; ulimit -f 1; "
    told = shell(f"{unmeasured}closeout check --root unit --quiet --out out", place)
    assert told.stdout.startswith(b"RELEASE; ")
    assert told.stderr.startswith(b"closeout: the report was not written: ")
    assert told.stderr.count(b"\n") == 1
    assert told.returncode == 2
    assert [path for path in (place / "out").rglob("*") if path.is_file()] == []


def test_an_interrupt_ends_it_with_130(place: Path) -> None:
    # A shell lets what it starts in the background ignore the signal; tests may run so.
    with subprocess.Popen(
        ["env", "--default-signal=INT", *PROGRAM, "field", "--field", "a"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=place,
        env=BUFFERED,
    ) as run:
        assert run.stdin is not None
        assert run.stdout is not None
        run.stdin.write(b"a\n" * 20_000)
        run.stdin.flush()
        assert json.loads(run.stdout.readline())
        time.sleep(0.1)
        run.send_signal(signal.SIGINT)
        _, errors = run.communicate(timeout=SOON)
    assert run.returncode == 130
    assert errors == b"closeout: stopped by the operator before the end\n"
