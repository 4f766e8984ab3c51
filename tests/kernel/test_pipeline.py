"""A run in a shell pipeline ends on time though a child of it never does."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import pytest

PROGRAM = Path(__file__).with_name("hanging_unit.py")
SOON = 15.0
"""Seconds: room for a busy machine to start an interpreter; the read would take an hour."""


@pytest.fixture
def left() -> Iterator[list[int]]:
    """Children left behind, ended after the test."""
    pids: list[int] = []
    yield pids
    for pid in pids:
        with suppress(ProcessLookupError):
            os.kill(pid, signal.SIGKILL)


def left_in(output: str) -> list[int]:
    lines = output.splitlines()
    return [int(line.removeprefix("left ")) for line in lines if line.startswith("left ")]


@pytest.mark.live
@pytest.mark.parametrize("command", ['"$0" "$1" 0.3 | cat', '"$0" "$1" 0.3 <&- | cat'])
def test_a_pipeline_ends_on_time_and_leaves_a_process_that_holds_nothing(
    command: str, left: list[int]
) -> None:
    start = time.monotonic()
    done = subprocess.run(
        ["sh", "-c", command, sys.executable, str(PROGRAM)],
        capture_output=True,
        text=True,
        timeout=SOON,
        check=True,
    )
    assert time.monotonic() - start < SOON
    left += left_in(done.stdout)
    (pid,) = left
    assert done.stdout.splitlines() == ["started", f"left {pid}", "before after", "DEADLINE"]
    assert done.stderr == ""
    holds = {link.name: os.readlink(link) for link in Path(f"/proc/{pid}/fd").iterdir()}  # noqa: PTH115 - a target such as pipe:[1] is no path
    assert {holds.pop(stream) for stream in "012"} == {os.devnull}
    assert [target.split(":")[0] for target in holds.values()] == ["pipe"]
    assert os.getsid(pid) == pid


def test_an_interrupt_ends_the_run_at_once(tmp_path: Path) -> None:
    """While a child reads: in an interpreter that is still starting an interrupt may get lost."""
    begun = tmp_path / "begun"
    # A shell lets what it starts in the background ignore the signal; tests may run so.
    with subprocess.Popen(
        ["env", "--default-signal=INT", sys.executable, str(PROGRAM), "600", str(begun)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    ) as run:
        until = time.monotonic() + SOON
        while not begun.exists() and time.monotonic() < until:
            time.sleep(0.02)
        assert begun.exists()
        time.sleep(0.5)  # on a busy host the parent may still be on its way back from the fork
        run.send_signal(signal.SIGINT)
        output, errors = run.communicate(timeout=SOON)
    assert b"KeyboardInterrupt" in errors
    for pid in left_in(output.decode()):
        os.kill(pid, signal.SIGKILL)
    assert run.returncode == -signal.SIGINT
