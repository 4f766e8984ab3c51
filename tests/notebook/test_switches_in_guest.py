"""The switches of a running notebook: ours beside evtest's, while the lid opens and shuts."""

import re
from collections.abc import Callable
from dataclasses import replace

import pytest

from closeout.decode.input_switches import decode_switches, switches_question
from notebook.agent_bundle import INSTALLED
from notebook.control_page import Event, control_page_of
from notebook.description import load_notebook
from notebook.machine import Machine

pytestmark = pytest.mark.notebook

LID = 0
ON = 10
"""What `evtest --query` ends with where the switch is set (evtest(1)); 0 where it is not."""
ASK = (
    f"import sys; sys.path.insert(0, '/{INSTALLED}/agent'); "
    "from closeout.kernel.live import LiveTree; "
    "sys.stdout.buffer.write(LiveTree().ask(sys.argv[1]))"
)
LID_DEVICE = re.compile(r'Name="Lid Switch"(?:\n.+)*?Handlers=.*?(event\d+)')


@pytest.mark.xdist_group("fen-14")
def test_the_lids_switch_is_read_as_evtest_reads_it(booted: Callable[[str], Machine]) -> None:
    machine = booted("fen-14")
    found = LID_DEVICE.search(machine.session.run("cat", "/proc/bus/input/devices").out.decode())
    assert found
    page = control_page_of(load_notebook("fen-14"))
    seen: list[tuple[bool, bool]] = []
    for is_open in (True, False, True):
        machine.show(replace(page, lid_open=is_open, notify=Event.LID))
        machine.session.run("sh", "-c", "sleep 2; udevadm settle")
        told = machine.session.run("python3", "-c", ASK, switches_question(found[1])).out
        query = machine.session.run(
            "evtest", "--query", f"/dev/input/{found[1]}", "EV_SW", "SW_LID"
        )
        seen.append((LID in decode_switches(told), query.status == ON))
    assert seen == [(False, False), (True, True), (False, False)]
