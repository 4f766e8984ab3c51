"""A clock in local time and one that lost its time, and errors that are put in: what is shown.

One cold start: the chip's clock starts with the emulator, so the right time is known to a second.
"""

import json
import struct
import time
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any, Final

import pytest

from notebook.agent_bundle import TOP
from notebook.checked import IN_GUEST
from notebook.description import load_notebook
from notebook.image import Image
from notebook.machine import Machine, started
from notebook.renaming import rename_back

pytestmark = [pytest.mark.notebook, pytest.mark.xdist_group("time-and-trouble")]

NAME: Final = "osier-15"
ZONE: Final = timedelta(hours=2)
PORT: Final = "0000:00:04.0"
RECEIVER_ERROR: Final = 1
"""The lowest bit of the correctable status (PCI Express Base, 7.8.4.5)."""
CORRECTED_CHECK: Final = "mce 0 4 0x8c00004000010091 0x0 0x12345000 0x8c"
"""Processor, bank, status, and what else the bank's registers hold: a corrected memory error."""
WITHIN: Final = 120.0
BROKEN_OFF: Final = """
dd if=/dev/kmsg iflag=nonblock bs=16k 2> /dev/null | sed -En 's/^[0-9]+,[0-9]+,([0-9]+),c.*/\\1/p'
"""
"""When each later piece of a line was written that is a record by itself."""


class Unit:
    """The notebook, and what time it is where it stands."""

    def __init__(self, machine: Machine, began: float) -> None:
        self.machine = machine
        self._began = began
        self._universal = load_notebook(NAME).clock
        self.undisturbed: dict[str, Any] = {}
        """The report of a check before any error was put in."""

    def now(self) -> str:
        """UTC by the host, as it is typed."""
        passed = timedelta(seconds=time.monotonic() - self._began)
        return f"{self._universal + passed:%Y-%m-%dT%H:%M:%SZ}"

    def shell(self, command: str) -> str:
        """What a line of shell prints in the guest."""
        return self.machine.session.run("sh", "-c", command, seconds=WITHIN).text

    def check(self) -> dict[str, Any]:
        """The report of a check with the right time."""
        folder = self.shell("mktemp --directory").strip()
        ran = self.machine.session.run(
            *("closeout", "check", "--json", "--out", folder),
            *("--profile", f"{IN_GUEST}/profile.toml"),
            *("--reference-time", self.now(), "--time-source", "the host"),
            seconds=WITHIN,
        )
        assert ran.err == b""
        report: dict[str, Any] = json.loads(ran.out)
        return report


@pytest.fixture(scope="module")
def unit(image: Image) -> Iterator[Unit]:
    notebook = load_notebook(NAME)
    with started(replace(notebook, clock=notebook.clock + ZONE), image) as machine:
        began = time.monotonic() - machine.ready_after
        shipped = (TOP / "profiles" / f"{notebook.profile}.toml").read_text("utf-8")
        machine.session.write(f"{IN_GUEST}/profile.toml", rename_back(shipped).encode())
        unit = Unit(machine, began)
        unit.undisturbed = unit.check()
        yield unit


def values(report: dict[str, Any], kind: str, label: str = "") -> dict[str, Any]:
    """The values of a device, by attribute."""
    devices = report["inventory"][kind]["devices"]
    (device,) = (one for one in devices if label in ("", one["label"]))
    attributes: dict[str, dict[str, Any]] = device["attributes"]
    return {name: told["value"] for name, told in attributes.items() if "value" in told}


def outcomes(report: dict[str, Any], rule: str) -> set[str]:
    return {one["outcome"] for one in report["findings"] if one["rule"] == rule}


def test_a_clock_in_local_time_is_recognised_and_is_no_fault(unit: Unit) -> None:
    report = unit.check()
    told = values(report, "clock")
    assert (told["kept_time"], told["local_offset"]) == ("local", "+02:00")
    assert told["error_seconds"] <= 10
    assert (told["running"], told["battery_state"], told["kernel_clock"]) == (True, "okay", True)
    assert told["reference"].endswith(", the host")
    assert outcomes(report, "clock.kept_time") == {"pass"}
    said = datetime.fromisoformat(unit.shell("hwclock --show --utc").strip())
    shown = datetime.fromtimestamp(told["since_epoch_seconds"], UTC)
    assert timedelta(0) <= said - shown < timedelta(seconds=60)


def test_the_log_is_what_dmesg_says(unit: Unit) -> None:
    """Each line shown is one of its lines, at its time; each warning until the last is shown.

    What the kernel broke off, because a program wrote in between, dmesg shows as two lines.
    """
    shown = values_of_messages(json.loads(unit.shell("closeout show --json")))
    assert shown
    broken_off = {int(at) for at in unit.shell(BROKEN_OFF).split()}
    told = {line for line in dmesg(unit) if line[1] not in broken_off}
    for message in shown:
        at = message["first_microseconds"]
        assert any(when == at and message["text"].startswith(text) for text, when in told)
    last = max(message["first_microseconds"] for message in shown)
    warnings = dmesg(unit, "--level", "emerg,alert,crit,err,warn")
    for text, at in warnings & told:
        assert at > last or any(message["text"].startswith(text) for message in shown)


def dmesg(unit: Unit, *options: str) -> set[tuple[str, int]]:
    """The kernel's own lines, with their times in microseconds."""
    told = json.loads(unit.shell(" ".join(("dmesg --json --facility kern", *options))))["dmesg"]
    return {(" ".join(one["msg"].split()), round(one["time"] * 1_000_000)) for one in told}


def values_of_messages(shown: dict[str, Any]) -> list[dict[str, Any]]:
    devices = shown["inventory"]["kernel_message"]["devices"]
    return [
        {name: told.get("value") for name, told in one["attributes"].items()} for one in devices
    ]


def test_a_healthy_notebook_has_no_trouble_and_no_unexplained_line(unit: Unit) -> None:
    told = values(unit.undisturbed, "kernel_log")
    assert (told["troubles"], told["unexplained"]) == ([], [])


def test_an_error_on_a_link_is_counted_and_told(unit: Unit) -> None:
    assert "Advanced Error Reporting" in unit.shell(f"lspci -vv -s {PORT}")
    bus, device, function = 0, 4, 0
    order = struct.pack("=3Bx7I", bus, device, function, 0, RECEIVER_ERROR, 0, 0, 0, 0, 0)
    unit.machine.session.write("/tmp/error", order)  # noqa: S108 - in the guest
    assert unit.shell("modprobe aer_inject && cat /tmp/error > /dev/aer_inject; echo $?") == "0\n"
    report = unit.check()
    told = values(report, "pci_faults", PORT)
    assert (told["correctable"], told["fatal"]) == (1, 0)
    assert told["error_names"] == ["correctable RxErr 1"]
    assert outcomes(report, "pci_faults.correctable") == {"pass", "review"}
    (finding,) = (one for one in report["findings"] if one["rule"] == "kernel_log.troubles")
    assert finding["outcome"] == "review"
    assert f"{PORT}: pcieport {PORT}: " in finding["found"]


def test_a_machine_check_is_told(unit: Unit) -> None:
    unit.shell("echo 1 > /sys/devices/system/machinecheck/machinecheck0/check_interval")
    unit.machine.orders.give("human-monitor-command", **{"command-line": CORRECTED_CHECK})
    until = time.monotonic() + WITHIN
    while "Hardware Error" not in unit.shell("dmesg") and time.monotonic() < until:
        time.sleep(1)
    report = unit.check()
    troubles = values(report, "kernel_log")["troubles"]
    assert any("[Hardware Error]: " in line for line in troubles), unit.shell("dmesg | tail")
    assert values(report, "machine_checks")["exceptions"] == 0
    assert values(report, "machine_checks")["polls"] > 0


def test_a_clock_that_lost_its_time_is_told(unit: Unit) -> None:
    unit.shell("hwclock --set --utc --date '2015-01-01 00:03:00'")
    try:
        report = unit.check()
    finally:
        unit.shell("hwclock --systohc --utc")
    assert values(report, "clock")["kept_time"] == "reset"
    assert outcomes(report, "clock.kept_time") == {"fail"}
