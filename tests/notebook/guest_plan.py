"""What the guest makes inside itself, as the plan that `in_guest/devices.py` reads."""

from typing import Any, Final

from notebook.described_parts import Mouse, Sensor
from notebook.description import Notebook

MODULES: Final = (
    "mac80211_hwsim",
    "uhid",
    "hid_multitouch",
    "evdev",
    "i2c_dev",
    "i2c_stub",
    "lm75",
    "lm63",
    "st_accel_i2c",
    "isl29028",
    "hid_generic",
)
"""The kernel modules that plans need, without those that they need in turn."""


def guest_plan(notebook: Notebook) -> dict[str, Any]:
    """The plan, of what JSON can say; None and empty lists are for what is not made."""
    radio, touchpad, mouse = notebook.radio, notebook.touchpad, notebook.mouse
    screen = notebook.touchscreen
    touchscreen = {"touchscreen": {"ids": screen.ids, "name": screen.name}} if screen else {}
    return {
        "radio": {"address": radio.address} if radio else None,
        "touchpad": {"ids": touchpad.ids, "name": touchpad.name} if touchpad else None,
        "mouse": _planned_mouse(mouse) if mouse else None,
        "sensors": [_planned(sensor) for sensor in notebook.sensor.values()],
        "rfkill": ["wlan"] if radio and radio.blocked else [],
        **touchscreen,
    }


def _planned_mouse(mouse: Mouse) -> dict[str, Any]:
    return {
        "ids": mouse.ids,
        "name": mouse.name,
        "serial": mouse.serial,
        "percent": mouse.percent,
    }


def _planned(sensor: Sensor) -> dict[str, Any]:
    match sensor.chip:
        case "thermometer":
            return {"chip": sensor.chip, "celsius": sensor.celsius}
        case "fan":
            return {"chip": sensor.chip, "rpm": sensor.rpm}
        case "accelerometer":
            return {"chip": sensor.chip, "gravity": list(sensor.gravity)}
        case "proximity":
            return {"chip": sensor.chip, "nearness": sensor.nearness, "lux": sensor.lux}
