"""What the guest's touchscreen says, read by the decoder of report descriptors and by field."""

import sys
from pathlib import Path
from typing import Any

# In the guest these are plain scripts that find each other by being in one folder.
sys.path.append(str(Path(__file__).parent / "in_guest"))

import devices
import touchscreen
from touchpad import I2C

from closeout.decode.report_descriptor import find_collections, name_purposes
from notebook.description import load_notebook
from notebook.guest_plan import guest_plan
from notebook.test_in_guest_touchpad import fields

SKERRY = load_notebook("skerry-13")


def test_it_is_a_touchscreen_and_nothing_else() -> None:
    collections = find_collections(touchscreen.report_descriptor())
    assert name_purposes(collections) == ("touchscreen",)
    assert len(collections) == 1


def test_every_finger_has_a_place_in_the_report() -> None:
    described = fields(touchscreen.report_descriptor())
    usages = [usage for _, _, usage in described[0x80, touchscreen.TOUCH]]
    finger = [0x0D0042, 0x0D0051, 0x010030, 0x010031]
    assert usages == finger * touchscreen.FINGERS + [0x0D0054]
    assert described[0xB0, touchscreen.MOST_FINGERS] == [(0, 8, 0x0D0055)]


def test_the_notebook_with_a_touch_panel_makes_one() -> None:
    plan: dict[str, Any] = guest_plan(SKERRY)
    assert plan["touchscreen"] == {"ids": "fe33:0a21", "name": "FE330A21:00 FE33:0A21"}
    assert "touchscreen" in [name for name, _ in devices.steps(plan)]
    assert "uhid" in devices.modules({"touchscreen": plan["touchscreen"]})
    event = touchscreen.pack_create("fe33:0a21", "FE330A21:00 FE33:0A21", b"\xa1\x01\xc0")
    assert event.endswith(b"\xa1\x01\xc0")
    assert I2C.to_bytes(2, "little") in event
    assert b"i2c-FE330A21:00\0" in event
