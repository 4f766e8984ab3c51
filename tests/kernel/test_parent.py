"""A child that was asked to ends with its parent, even where that was killed."""

import os
import select
import signal
import subprocess
import sys

import pytest

PARENT = """
import os, time
from closeout.kernel.parent import end_with_parent
if os.fork() == 0:
    {call}
    os.write(1, b"there")
time.sleep(60)
"""


@pytest.mark.live
@pytest.mark.parametrize(("call", "ends"), [("end_with_parent()", True), ("pass", False)])
def test_a_killed_parent_leaves_no_child(call: str, *, ends: bool) -> None:
    with subprocess.Popen(
        [sys.executable, "-c", PARENT.format(call=call)],
        stdout=subprocess.PIPE,
        start_new_session=True,
    ) as parent:
        assert parent.stdout is not None
        assert parent.stdout.read(5) == b"there"
        os.kill(parent.pid, signal.SIGKILL)
        closed, _, _ = select.select([parent.stdout], [], [], 5 if ends else 0.5)
        assert bool(closed) is ends  # nobody holds the pipe any more
        if not ends:
            os.killpg(parent.pid, signal.SIGKILL)
