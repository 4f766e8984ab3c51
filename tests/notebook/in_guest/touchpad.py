"""A precision touchpad on the I2C bus, which lives as long as the process that serves it.

The device is made by user space: include/uapi/linux/uhid.h, Documentation/hid/uhid.rst.
"""

import os
import select
import struct
import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from background import leave_behind
from touchpad_reports import (
    FEATURES,
    Contact,
    report_descriptor,
    touch_report,
)

NUMBER: Final = Path("/run/notebook/touchpad.pid")
"""The process that serves it."""
DEVICE: Final = Path("/dev/uhid")
ORDERS: Final = Path("/run/notebook/touchpad")
"""A pipe that takes orders, one a line: `move X Y TO_X TO_Y` and `press X Y`, in counts."""
HID_DEVICES: Final = Path("/sys/bus/hid/devices")
I2C: Final = 0x18
NAME_END: Final = " Touchpad"
"""The kernel itself puts it behind the device's name when it names the input."""
PATIENCE_S: Final = 5.0
STEPS: Final = 20
STEP_S: Final = 0.01
SCAN_TIMES_A_SECOND: Final = 10_000

GET_REPORT, GET_REPORT_REPLY, CREATE, INPUT, SET_REPORT, SET_REPORT_REPLY = range(9, 15)
CREATE_EVENT: Final = struct.Struct("<I128s64s64sHHIIII")
KIND: Final = struct.Struct("<I")
ASKED: Final = struct.Struct("<IIBB")
SENT: Final = struct.Struct("<IIBBH")
ANSWER: Final = struct.Struct("<IIHH")
TAKEN: Final = struct.Struct("<IIH")
MOVED: Final = struct.Struct("<IH")
LONGEST_EVENT: Final = 4380
NO_SUCH_REPORT: Final = 5


def create_event(ids: str, name: str) -> bytes:
    """What makes the device, with ids like `fe31:0214`."""
    return pack_create(ids, name.removesuffix(NAME_END), report_descriptor())


def pack_create(ids: str, name: str, descriptor: bytes) -> bytes:
    """What makes a HID device on the I2C bus."""
    vendor, product = (int(number, 16) for number in ids.split(":"))
    place = f"i2c-{name.split(maxsplit=1)[0]}"
    texts = (name.encode()[:127], place.encode()[:63], b"")
    numbers = (len(descriptor), I2C, vendor, product, 0x0100, 0)
    return CREATE_EVENT.pack(CREATE, *texts, *numbers) + descriptor


@dataclass(slots=True, kw_only=True)
class Answers:
    """What the touchpad answers to the kernel; a feature keeps what was set."""

    features: dict[int, bytes] = field(default_factory=lambda: dict(FEATURES))

    def answer(self, event: bytes) -> bytes | None:
        """The reply to an event, where it wants one."""
        (kind,) = KIND.unpack_from(event)
        if kind == GET_REPORT:
            return self._told(event)
        if kind == SET_REPORT:
            return self._taken(event)
        return None

    def _told(self, event: bytes) -> bytes:
        _, question, report, _ = ASKED.unpack_from(event)
        value = self.features.get(report)
        if value is None:
            return ANSWER.pack(GET_REPORT_REPLY, question, NO_SUCH_REPORT, 0)
        told = bytes([report]) + value
        return ANSWER.pack(GET_REPORT_REPLY, question, 0, len(told)) + told

    def _taken(self, event: bytes) -> bytes:
        _, question, report, _, length = SENT.unpack_from(event)
        value = event[SENT.size + 1 : SENT.size + length]
        if report not in self.features or len(value) != len(self.features[report]):
            return TAKEN.pack(SET_REPORT_REPLY, question, NO_SUCH_REPORT)
        self.features[report] = value
        return TAKEN.pack(SET_REPORT_REPLY, question, 0)


def movements(order: str) -> Iterator[tuple[Contact, bool]]:
    """The steps of an order: where the finger is, and whether it presses; ValueError if unknown."""
    word, *told = order.split()
    numbers = [int(each) for each in told]
    if word == "move" and len(numbers) == 4:
        x, y, to_x, to_y = numbers
        for step in range(STEPS + 1):
            at_x, at_y = x + (to_x - x) * step // STEPS, y + (to_y - y) * step // STEPS
            yield Contact(x=at_x, y=at_y), False
        yield Contact(x=to_x, y=to_y, touches=False), False
    elif word == "press" and len(numbers) == 2:
        x, y = numbers
        yield Contact(x=x, y=y), True
        yield Contact(x=x, y=y), False
        yield Contact(x=x, y=y, touches=False), False
    else:
        raise ValueError(f"no order: {order!r}")


def input_event(report: bytes) -> bytes:
    """What hands a report to the kernel."""
    return MOVED.pack(INPUT, len(report)) + report


def make_touchpad(plan: Mapping[str, Any]) -> str:
    """The name of the input device; a process of its own stays behind and serves it."""
    ORDERS.parent.mkdir(parents=True, exist_ok=True)
    ORDERS.unlink(missing_ok=True)
    os.mkfifo(ORDERS, 0o600)
    device = os.open(DEVICE, os.O_RDWR)
    os.write(device, create_event(plan["ids"], plan["name"]))
    leave_behind(lambda: serve(device), NUMBER)
    os.close(device)
    return wait_for_input(plan["ids"])


def serve(device: int) -> None:
    """Answers the kernel and takes orders, for ever."""
    answers = Answers()
    # Open for writing too: the pipe then never comes to its end.
    orders = os.open(ORDERS, os.O_RDWR)
    while True:
        ready, _, _ = select.select([device, orders], [], [])
        if device in ready:
            reply = answers.answer(os.read(device, LONGEST_EVENT))
            if reply is not None:
                os.write(device, reply)
        if orders in ready:
            for order in os.read(orders, 4096).decode(errors="replace").splitlines():
                carry_out(device, order)


def carry_out(device: int, order: str) -> None:
    """Moves the finger; an order that nobody knows moves nothing."""
    try:
        steps = tuple(movements(order))
    except ValueError:
        return
    for contact, pressed in steps:
        scan_time = int(time.monotonic() * SCAN_TIMES_A_SECOND)
        report = touch_report([contact], pressed=pressed, scan_time=scan_time)
        os.write(device, input_event(report))
        time.sleep(STEP_S)


def wait_for_input(ids: str, name_end: str = NAME_END) -> str:
    """The name of the input device that ends so, once there is one to open."""
    pattern = f"{I2C:04X}:{ids.upper()}.*/input/input*"
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        for place in HID_DEVICES.glob(pattern):
            name = (place / "name").read_text().strip()
            if name.endswith(name_end) and any(place.glob("event*")):
                return name
        time.sleep(0.01)
    raise TimeoutError(f"no input device of {ids}")
