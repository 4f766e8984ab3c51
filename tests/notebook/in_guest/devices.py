"""Makes the devices that a notebook's guest makes for itself; run as root once udev runs.

    python3 devices.py PLAN.json

The plan is what `notebook.guest_plan` writes. Every device that fails is told in a line, and the
end is 1 then; the others are made. It finds the modules beside it, in whatever folder
they are.
"""

import json
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any, Final

import access_point
import mouse
import radio
import sensors
import touchpad
import touchscreen

RADIO: Final = "mac80211_hwsim"
MODULE_OPTIONS: Final = Path("/run/modprobe.d/notebook.conf")

Plan = Mapping[str, Any]
Step = tuple[str, Callable[[], object]]


def modules(plan: Plan) -> dict[str, str]:
    """The modules that a plan needs, with their options; all are loaded at once."""
    needed = {}
    if plan.get("radio"):
        needed[RADIO] = "radios=0"
    if plan.get("touchpad") or plan.get("touchscreen"):
        needed |= {"uhid": "", "hid_multitouch": "", "evdev": ""}
    if plan.get("mouse"):
        needed |= {"uhid": "", "hid_generic": "", "evdev": ""}
    if plan.get("sensors"):
        needed["i2c_dev"] = ""
        needed["i2c_stub"] = sensors.bus_options(sensors.plan_chips(plan["sensors"]))
        needed |= {sensors.DRIVERS[each["chip"]]: "" for each in plan["sensors"]}
    return needed


def steps(plan: Plan) -> Iterator[Step]:
    """What is to be done, in this order."""
    if needed := modules(plan):
        yield "modules", lambda: load(needed)
    yield from pointers(plan)
    if card := plan.get("radio"):
        yield "radio", lambda: radio.make_radio(card)
        if point := card.get("access_point"):
            yield "access point", lambda: access_point.make_access_point(point)
    if blocked := plan.get("rfkill"):
        yield "rfkill", lambda: radio.block(blocked)
    if told := plan.get("sensors"):
        chips = sensors.plan_chips(told)
        yield "sensors", lambda: " ".join(place.name for place in sensors.make_sensors(chips))
    yield "settle", settle


def pointers(plan: Plan) -> Iterator[Step]:
    """What a hand moves."""
    if pad := plan.get("touchpad"):
        yield "touchpad", lambda: touchpad.make_touchpad(pad)
    if wireless := plan.get("mouse"):
        yield "mouse", lambda: mouse.make_mouse(wireless)
    if screen := plan.get("touchscreen"):
        yield "touchscreen", lambda: touchscreen.make_touchscreen(screen)


def load(needed: Mapping[str, str]) -> None:
    """Loads modules; udev, which may load one too, finds the options."""
    lines = [f"options {name} {options}\n" for name, options in needed.items() if options]
    MODULE_OPTIONS.parent.mkdir(parents=True, exist_ok=True)
    MODULE_OPTIONS.write_text("".join(lines))
    # The radio's modules take longer than all others, and the guest has two processors.
    parts = ([name for name in needed if name == RADIO], [name for name in needed if name != RADIO])
    loading = [subprocess.Popen(["modprobe", "-a", *part]) for part in parts if part]
    statuses = [each.wait() for each in loading]
    if any(statuses):
        raise OSError("not every module could be loaded")


def settle() -> None:
    """Waits until udev knows all of it."""
    subprocess.run(["udevadm", "settle", "--timeout=20"], check=True)


def run(plan: Plan) -> int:
    """0 when every step was done, else 1; tells each with its time."""
    failed = False
    for name, step in steps(plan):
        start = time.monotonic()
        try:
            outcome = step()
        except (OSError, ValueError, subprocess.CalledProcessError) as mistake:
            failed, outcome = True, f"FAILED: {mistake}"
        took = time.monotonic() - start
        sys.stdout.write(f"{name} {took:.2f} s {outcome or ''}\n")
    return int(failed)


if __name__ == "__main__":
    sys.exit(run(json.loads(Path(sys.argv[1]).read_text("utf-8"))))
