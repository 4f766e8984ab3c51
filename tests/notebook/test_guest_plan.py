"""What the guest is told to make of a description."""

import json
from dataclasses import replace

from notebook.described_parts import Mouse, Sensor
from notebook.description import Notebook, Radio, load_notebook
from notebook.guest_plan import guest_plan

FEN = load_notebook("fen-14")


def test_a_whole_notebook() -> None:
    fan = Sensor(chip="fan", rpm=2450)
    notebook = replace(FEN, sensor={**FEN.sensor, "fan": fan})
    assert guest_plan(notebook) == {
        "radio": {"address": "3c:1a:9f:31:08:41"},
        "touchpad": {"ids": "fe31:0214", "name": "FE310214:00 FE31:0214 Touchpad"},
        "mouse": None,
        "sensors": [
            {"chip": "thermometer", "celsius": 42.0},
            {"chip": "accelerometer", "gravity": [0.0, 0.0, 1.0]},
            {"chip": "fan", "rpm": 2450},
        ],
        "rfkill": [],
    }


def test_what_is_not_there_is_not_made() -> None:
    bare = replace(FEN, radio=None, touchpad=None, sensor={})
    assert guest_plan(bare) == {
        "radio": None,
        "touchpad": None,
        "mouse": None,
        "sensors": [],
        "rfkill": [],
    }


def test_a_mouse_and_a_proximity_sensor_are_told_whole() -> None:
    mouse = Mouse(ids="fe32:0107", name="Pebble Mouse", serial="LPM-0731", percent=12)
    near = Sensor(chip="proximity", nearness=33, lux=140)
    plan = guest_plan(replace(FEN, mouse=mouse, sensor={"near": near}))
    assert plan["mouse"] == {
        "ids": "fe32:0107",
        "name": "Pebble Mouse",
        "serial": "LPM-0731",
        "percent": 12,
    }
    assert plan["sensors"] == [{"chip": "proximity", "nearness": 33, "lux": 140}]


def test_a_blocked_radio_is_there_and_blocked() -> None:
    plan = guest_plan(_with_radio(Radio(address="7c:13:1d:00:00:01", blocked=True)))
    assert plan["radio"] == {"address": "7c:13:1d:00:00:01"}
    assert plan["rfkill"] == ["wlan"]


def test_the_plan_survives_its_way_into_the_guest() -> None:
    plan = guest_plan(FEN)
    assert json.loads(json.dumps(plan)) == plan


def _with_radio(radio: Radio) -> Notebook:
    return replace(FEN, radio=radio)
