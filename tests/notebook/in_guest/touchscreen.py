"""A touchscreen on the I2C bus, which lives as long as the process that serves it.

Made as the touchpad is (Documentation/hid/uhid.rst). Items: USB HID 1.11, 6.2.2; usages: HID
Usage Tables 1.12, page 0Dh.
"""

import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from background import leave_behind
from touchpad import DEVICE, LONGEST_EVENT, Answers, pack_create, wait_for_input
from touchpad_reports import (
    APPLICATION,
    CENTIMETRE,
    COUNT,
    COUNTS_PER_MM,
    DESKTOP,
    DIGITIZER,
    FEATURE,
    HUNDREDTHS,
    INPUT,
    LOGICAL,
    LOGICAL_MAXIMUM,
    LOGICAL_MINIMUM,
    PHYSICAL_MAXIMUM,
    PHYSICAL_MINIMUM,
    REPORT,
    SIZE,
    UNIT,
    UNIT_EXPONENT,
    USAGE,
    USAGE_PAGE,
    VARIABLE,
    collection,
    item,
    items,
)

NUMBER: Final = Path("/run/notebook/touchscreen.pid")
"""The process that serves it."""
WIDTH_MM: Final = 285
HEIGHT_MM: Final = 190
FINGERS: Final = 2
TOUCH: Final = 1
MOST_FINGERS: Final = 2
NAME_END: Final = ""


def report_descriptor() -> bytes:
    """A screen that tells two fingers apart."""
    finger = items((USAGE_PAGE, DIGITIZER), (USAGE, 0x22)) + collection(LOGICAL, _finger())
    count = items((USAGE_PAGE, DIGITIZER), (USAGE, 0x54)) + _field(127, 8) + item(INPUT, VARIABLE)
    most = items((REPORT, MOST_FINGERS), (USAGE, 0x55)) + _field(15, 8) + item(FEATURE, VARIABLE)
    head = items((USAGE_PAGE, DIGITIZER), (USAGE, 0x04))
    return head + collection(APPLICATION, item(REPORT, TOUCH), finger * FINGERS, count, most)


def _field(limit: int, bits: int) -> bytes:
    return items((LOGICAL_MINIMUM, 0), (LOGICAL_MAXIMUM, limit), (SIZE, bits), (COUNT, 1))


def _finger() -> bytes:
    tip = item(USAGE, 0x42) + _field(1, 8) + item(INPUT, VARIABLE)
    number = item(USAGE, 0x51) + _field(127, 8) + item(INPUT, VARIABLE)
    units = items((USAGE_PAGE, DESKTOP), (UNIT, CENTIMETRE), (UNIT_EXPONENT, HUNDREDTHS))
    without = items((PHYSICAL_MAXIMUM, 0), (UNIT, 0), (UNIT_EXPONENT, 0))
    axes = _axis(0x30, WIDTH_MM) + _axis(0x31, HEIGHT_MM)
    return tip + number + units + item(PHYSICAL_MINIMUM, 0) + axes + without


def _axis(number: int, millimetres: int) -> bytes:
    head = items((USAGE, number), (PHYSICAL_MAXIMUM, millimetres * 10))
    return head + _field(millimetres * COUNTS_PER_MM, 16) + item(INPUT, VARIABLE)


def make_touchscreen(plan: Mapping[str, Any]) -> str:
    """The name of the input device; a process of its own stays behind and serves it."""
    device = os.open(DEVICE, os.O_RDWR)
    os.write(device, pack_create(plan["ids"], plan["name"], report_descriptor()))
    leave_behind(lambda: serve(device), NUMBER)
    os.close(device)
    return wait_for_input(plan["ids"], NAME_END)


def serve(device: int) -> None:
    """Answers the kernel, for ever."""
    answers = Answers(features={MOST_FINGERS: bytes([FINGERS])})
    while True:
        reply = answers.answer(os.read(device, LONGEST_EVENT))
        if reply is not None:
            os.write(device, reply)
