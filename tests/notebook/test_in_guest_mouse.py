"""What the guest's mouse says of itself, read as USB HID 1.11, 6.2.2 says."""

import struct
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

# In the guest these are plain scripts that find each other by being in one folder.
sys.path.append(str(Path(__file__).parent / "in_guest"))

import mouse
import touchpad

from notebook.test_in_guest_touchpad import fields

PLAN = {"ids": "fe32:0107", "name": "Pebble Mouse", "serial": "LPM-0731", "percent": 74}
INPUT_REPORT = 0x80
BATTERY_STRENGTH = 0x06_0020
X = 0x01_0030


def test_the_descriptor_has_a_report_of_moves_and_one_of_the_battery() -> None:
    found = fields(mouse.DESCRIPTOR)
    assert found.keys() == {(INPUT_REPORT, mouse.MOVES), (INPUT_REPORT, mouse.BATTERY)}
    ((at, width, usage),) = found[INPUT_REPORT, mouse.BATTERY]
    assert (at, width, usage) == (0, 8, BATTERY_STRENGTH)
    usages = [usage for _, _, usage in found[INPUT_REPORT, mouse.MOVES]]
    assert X in usages


def test_the_device_is_a_bluetooth_mouse_with_its_serial_number() -> None:
    kind, name, _, serial, length, bus, vendor, product, _, _ = touchpad.CREATE_EVENT.unpack_from(
        mouse.create_event(PLAN)
    )
    assert (kind, bus, vendor, product) == (touchpad.CREATE, mouse.BLUETOOTH, 0xFE32, 0x0107)
    assert (name.rstrip(b"\0"), serial.rstrip(b"\0")) == (b"Pebble Mouse", b"LPM-0731")
    assert mouse.create_event(PLAN)[-length:] == mouse.DESCRIPTOR


@given(st.integers(0, 100), st.integers(0, 0xFFFF_FFFF))
def test_the_kernel_is_told_the_percent(percent: int, question: int) -> None:
    asked = touchpad.ASKED.pack(touchpad.GET_REPORT, question, mouse.BATTERY, 2)
    reply = mouse.answer(asked, percent)
    assert reply is not None
    kind, number, error, length = touchpad.ANSWER.unpack_from(reply)
    assert (kind, number, error, length) == (touchpad.GET_REPORT_REPLY, question, 0, 2)
    assert reply[touchpad.ANSWER.size :] == bytes([mouse.BATTERY, percent])


@pytest.mark.parametrize("report", [0, 1, 3])
def test_there_is_no_other_report(report: int) -> None:
    reply = mouse.answer(touchpad.ASKED.pack(touchpad.GET_REPORT, 7, report, 2), 50)
    assert reply == touchpad.ANSWER.pack(touchpad.GET_REPORT_REPLY, 7, touchpad.NO_SUCH_REPORT, 0)


def test_other_events_want_no_answer() -> None:
    assert mouse.answer(struct.pack("<I", 2), 50) is None
