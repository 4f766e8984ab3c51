"""A wireless mouse that tells how full its battery is, as long as the process that serves it lives.

The device is made by user space: include/uapi/linux/uhid.h, Documentation/hid/uhid.rst. Items: USB
HID 1.11, 6.2.2; the battery strength is a usage of the generic device controls (HID Usage Tables
1.12, 9). The kernel asks for its report whenever somebody reads the level
(hidinput_query_battery_capacity, drivers/hid/hid-input.c).
"""

import os
import time
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from background import leave_behind
from touchpad import (
    ANSWER,
    ASKED,
    CREATE,
    CREATE_EVENT,
    DEVICE,
    GET_REPORT,
    GET_REPORT_REPLY,
    KIND,
    LONGEST_EVENT,
    NO_SUCH_REPORT,
    PATIENCE_S,
)

NUMBER: Final = Path("/run/notebook/mouse.pid")
"""The process that serves it."""
BLUETOOTH: Final = 0x05
SUPPLIES: Final = Path("/sys/class/power_supply")
MOVES, BATTERY = 1, 2

DESCRIPTOR: Final = bytes.fromhex(
    "05 01 09 02 A1 01"  # a mouse
    "85 01 09 01 A1 00"  # report 1: three buttons, two axes
    "05 09 19 01 29 03 15 00 25 01 75 01 95 03 81 02"
    "75 05 95 01 81 03"
    "05 01 09 30 09 31 15 81 25 7F 75 08 95 02 81 06"
    "C0"
    "85 02 05 06 09 20 15 00 25 64 75 08 95 01 81 02"  # report 2: battery strength, 0 to 100
    "C0"
)


def create_event(plan: Mapping[str, Any]) -> bytes:
    """What makes the device, with ids like `fe32:0107`."""
    vendor, product = (int(number, 16) for number in plan["ids"].split(":"))
    texts = (plan["name"].encode()[:127], b"mouse/input0", plan["serial"].encode()[:63])
    numbers = (len(DESCRIPTOR), BLUETOOTH, vendor, product, 0x0100, 0)
    return CREATE_EVENT.pack(CREATE, *texts, *numbers) + DESCRIPTOR


def answer(event: bytes, percent: int) -> bytes | None:
    """The reply to an event, where it wants one: the battery's report and no other."""
    (kind,) = KIND.unpack_from(event)
    if kind != GET_REPORT:
        return None
    _, question, report, _ = ASKED.unpack_from(event)
    if report != BATTERY:
        return ANSWER.pack(GET_REPORT_REPLY, question, NO_SUCH_REPORT, 0)
    told = bytes([BATTERY, percent])
    return ANSWER.pack(GET_REPORT_REPLY, question, 0, len(told)) + told


def make_mouse(plan: Mapping[str, Any]) -> str:
    """The name of the battery; a process of its own stays behind and serves the mouse."""
    device = os.open(DEVICE, os.O_RDWR)
    os.write(device, create_event(plan))
    leave_behind(lambda: serve(device, plan["percent"]), NUMBER)
    os.close(device)
    return wait_for_battery(plan["serial"])


def serve(device: int, percent: int) -> None:
    """Answers the kernel, for ever."""
    while True:
        reply = answer(os.read(device, LONGEST_EVENT), percent)
        if reply is not None:
            os.write(device, reply)


def wait_for_battery(serial: str) -> str:
    """The name of the mouse's supply, once there is one."""
    name = f"hid-{serial}-battery"
    end = time.monotonic() + PATIENCE_S
    while not (SUPPLIES / name).exists():
        if time.monotonic() > end:
            raise TimeoutError(f"no supply {name}")
        time.sleep(0.01)
    return name
