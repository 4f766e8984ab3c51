"""Moments of a running notebook at which the kernel answers otherwise than at rest.

Each is brought about once, in the order of `MOMENTS`, and stays until the next; all of it is gone
with the machine.
"""

import json
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any, Final

from notebook.control_page import ControlPage, LiveBattery, control_page_of, events_between
from notebook.kernel_facts import (
    AT_REST,
    HELD,
    PROGRAM,
    Asking,
    Fact,
    Told,
    questions,
)
from notebook.machine import Machine

USERS: Final = ("root", "technician")
SCRIPT: Final = "/run/facts/facts.py"
HELD_FILE: Final = "/run/facts/held"
GO_FILE: Final = "/run/facts/go"
ANSWERS: Final = "/run/facts/answers.json"
PATIENCE: Final = 20
UNKNOWN: Final = 0xFFFF_FFFF
"""ACPI's word for a value that is not known."""
STICK_BYTES: Final = 64 << 20


def ask_everything(machine: Machine, name: str, facts: Sequence[Fact]) -> list[Told]:
    """All answers of the notebook of that name, at rest first, then at each of its moments."""
    machine.session.write(SCRIPT, PROGRAM.read_bytes())
    told = []
    for moment in (AT_REST, *MOMENTS):
        if not any(fact.moment == moment and name in fact.on for fact in facts):
            continue
        held = _bring_about(machine, name, facts, moment)
        for user in USERS:
            asking = Asking(notebook=name, user=user, moment=moment)
            if asked := questions(facts, asking):
                now = [each for each in asked if each[0] != HELD]
                answers = _ask(machine, now, user) + (held if user == "root" else [])
                told.append(Told(asking=asking, answers=tuple(answers)))
    return told


def _ask(machine: Machine, asked: Sequence[tuple[str, str]], user: str) -> list[Any]:
    ran = machine.session.run(
        "python3", SCRIPT, user=user, given=json.dumps(asked).encode(), seconds=120
    )
    if ran.status:
        raise RuntimeError(ran.err.decode("utf-8", "replace"))
    answers: list[Any] = json.loads(ran.out)
    return answers


def _bring_about(machine: Machine, name: str, facts: Sequence[Fact], moment: str) -> list[Any]:
    """Does it, and tells what files answer that were opened before."""
    if moment == AT_REST:
        return []
    asking = Asking(notebook=name, user="root", moment=moment)
    held = [each for each in questions(facts, asking) if each[0] == HELD]
    if held:
        _hold(machine, held)
    MOMENTS[moment](machine)
    if not held:
        return []
    machine.session.write(GO_FILE, b"")
    _wait(machine, f"test -s {ANSWERS}")
    answers: list[Any] = json.loads(machine.session.read(ANSWERS))
    return answers


def _hold(machine: Machine, held: Sequence[tuple[str, str]]) -> None:
    machine.session.run("rm", "-f", HELD_FILE, GO_FILE, ANSWERS)
    machine.session.write("/run/facts/questions.json", json.dumps(held).encode())
    command = f"setsid python3 {SCRIPT} {HELD_FILE} {GO_FILE} < /run/facts/questions.json"
    machine.session.run("sh", "-c", f"{command} > /run/facts/log 2>&1 &")
    _wait(machine, f"test -e {HELD_FILE}")


def _wait(machine: Machine, condition: str) -> None:
    """Until the shell says yes."""
    loop = f"i=0; until {condition}; do i=$((i+1)); [ $i -lt 400 ] || exit 1; sleep 0.05; done"
    if machine.session.run("sh", "-c", loop, seconds=PATIENCE * 3).status:
        raise RuntimeError(f"not so after {PATIENCE} s: {condition}")


def _write(machine: Machine, value: str, path: str) -> None:
    ran = machine.session.run("sh", "-c", f"echo {value} > {path}")
    if ran.status:
        raise RuntimeError(ran.err.decode("utf-8", "replace"))


def _show(machine: Machine, before: ControlPage, after: ControlPage) -> None:
    machine.show(replace(after, notify=events_between(before, after)))


def _page(machine: Machine) -> ControlPage:
    return control_page_of(machine.notebook)


def _pack(page: ControlPage, **changes: Any) -> ControlPage:  # noqa: ANN401 - of the pack
    pack, *others = page.batteries
    changed: LiveBattery = replace(pack, **changes)
    return replace(page, batteries=(changed, *others))


def turn_panel_off(machine: Machine) -> None:
    """The connector says that nothing is connected."""
    _write(machine, "off", "/sys/class/drm/card0-Virtual-1/status")


def block_radios(machine: Machine) -> None:
    """As a person does who turns on flight mode."""
    machine.session.run("rfkill", "block", "all")


def put_stick_in(machine: Machine) -> None:
    """A USB stick of 64 MiB, with zeros on it."""
    stick = {"driver": "null-co", "node-name": "stick", "read-zeroes": True, "size": STICK_BYTES}
    machine.orders.give("blockdev-add", **stick)
    device = {"driver": "usb-storage", "id": "stick", "drive": "stick", "serial": "STICK0001"}
    machine.orders.give("device_add", bus="xhci.0", port="1", removable=True, **device)
    # The folder is there before the event is sent, so settling alone may find nothing to wait for.
    _wait(machine, "test -e /run/udev/data/b$(cat /sys/block/sdb/dev)")
    machine.session.run("udevadm", "settle", "--timeout=20")


def pull_adapter(machine: Machine) -> None:
    """The pack feeds the unit."""
    before = _page(machine)
    after = _pack(replace(before, online=False), state=1, rate_mw=9000)
    _show(machine, before, after)
    _wait(machine, "grep -q 0 /sys/class/power_supply/AC0/online")
    time.sleep(1.5)  # the driver's copy of the pack's values is kept for a second


def pull_pack(machine: Machine) -> None:
    """The bay is empty."""
    before = _page(machine)
    _show(machine, before, _pack(before, present=False))
    _wait(machine, "test ! -e /sys/class/power_supply/BAT0")


def put_unknown_pack_in(machine: Machine) -> None:
    """A pack whose firmware knows none of its values."""
    before = _pack(_page(machine), present=False)
    unknown = dict.fromkeys(("design_mwh", "full_mwh", "remaining_mwh", "rate_mw"), UNKNOWN)
    after = _pack(_page(machine), millivolts=UNKNOWN, cycles=UNKNOWN, **unknown)
    _show(machine, before, after)
    _wait(machine, "test -e /sys/class/power_supply/BAT0")


def pull_drive(machine: Machine) -> None:
    """The NVMe drive out of its slot, under whoever reads it."""
    machine.orders.give("device_del", id="system")
    _wait(machine, "test ! -e /sys/bus/pci/devices/0000:01:00.0")
    machine.session.run("udevadm", "settle", "--timeout=20")


def unbind_camera(machine: Machine) -> None:
    """The camera's driver lets go of it."""
    _write(machine, "1-6:1.0", "/sys/bus/usb/drivers/uvcvideo/unbind")


def forbid_reader(machine: Machine) -> None:
    """The fingerprint reader is kept from being used."""
    _write(machine, "0", "/sys/bus/usb/devices/1-4/authorized")


MOMENTS: Final[Mapping[str, Callable[[Machine], None]]] = {
    "panel off": turn_panel_off,
    "radios blocked": block_radios,
    "stick put in": put_stick_in,
    "adapter pulled": pull_adapter,
    "pack pulled": pull_pack,
    "pack of unknown values": put_unknown_pack_in,
    "camera without its driver": unbind_camera,
    "reader not authorized": forbid_reader,
    "drive pulled": pull_drive,
}
"""In this order; later ones may undo earlier ones."""
