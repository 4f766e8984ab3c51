"""Drives of booted notebooks that are not as they should be, and what the check makes of them."""

from collections.abc import Callable, Iterator, Mapping
from typing import Any

import pytest

from notebook.checked import Checked, check
from notebook.machine import Machine

pytestmark = [pytest.mark.notebook, pytest.mark.xdist_group("drives")]

HOLD, UNDECIDED = 1, 3
LINK_WIDTH = "/sys/bus/pci/devices/0000:01:00.0/max_link_width"
PORT_WIDTH = "/sys/bus/pci/devices/0000:00:03.0/max_link_width"


@pytest.fixture
def warned(booted: Callable[[str], Machine]) -> Iterator[Machine]:
    """A notebook whose drive warns that its reliability is degraded (bit 2)."""
    machine = booted("fen-14")
    _warn(machine, 4)
    yield machine
    _warn(machine, 0)


def test_a_drive_that_warns_holds_the_unit(warned: Machine) -> None:
    checked = check(warned, "fen-14", "root")
    assert checked.ran.status == HOLD
    finding = _finding(checked, "drive.critical_warnings")
    assert (finding["outcome"], finding["found"]) == ("fail", "reliability degraded")
    told = warned.session.run("nvme", "smart-log", "/dev/nvme0").text
    assert "critical_warning\t\t\t: 0x4" in told


def test_an_ordinary_user_does_not_learn_that_it_warns(warned: Machine) -> None:
    checked = check(warned, "fen-14", "technician")
    assert checked.ran.status == UNDECIDED
    assert _finding(checked, "drive.critical_warnings")["outcome"] == "unread"


def test_a_link_with_too_few_lanes_is_told(booted: Callable[[str], Machine]) -> None:
    """The emulated drive has one lane; both ends are made to say that they can have four."""
    machine = booted("fen-14")
    machine.session.write("/run/four", b"4\n")
    for path in (LINK_WIDTH, PORT_WIDTH):
        assert machine.session.run("mount", "--bind", "/run/four", path).status == 0
    try:
        finding = _finding(check(machine, "fen-14", "root"), "drive.link_degraded")
    finally:
        for path in (LINK_WIDTH, PORT_WIDTH):
            machine.session.run("umount", path)
    assert (finding["outcome"], finding["found"]) == ("fail", "yes")


def test_a_drive_hidden_by_the_storage_mode_is_not_called_missing(
    booted: Callable[[str], Machine],
) -> None:
    checked = check(booted("osier-15-storage-mode"), "osier-15-storage-mode", "root")
    assert checked.ran.status == UNDECIDED
    for rule in ("drive.presence", "drive.critical_warnings"):
        finding = _finding(checked, rule)
        assert finding["outcome"] == "uncovered"
        assert "storage mode changed: 0000:01:00.0" in finding["found"]
    steps = [step["action"] for step in checked.report["first_steps"]]
    assert any("storage mode" in step for step in steps)
    assert not any("Reseat the drive" in step for step in steps)


def _warn(machine: Machine, bits: int) -> None:
    machine.orders.give(
        "qom-set", path="/machine/peripheral/system", property="smart_critical_warning", value=bits
    )


def _finding(checked: Checked, rule: str) -> Mapping[str, Any]:
    (finding,) = [found for found in checked.report["findings"] if found["rule"] == rule]
    found: Mapping[str, Any] = finding
    return found
