"""Readers of what the unit measures: heat, fans, movement, light and nearness.

Kernel paths: `sys/class/hwmon`, `sys/class/thermal` and `sys/bus/iio/devices`.
"""

from __future__ import annotations

from typing import Final

from closeout.readers import (
    accelerometer,
    fan,
    hinge_angle,
    light_sensor,
    proximity_sensor,
    temperature,
)

READERS: Final = (
    *temperature.READERS,
    *fan.READERS,
    *accelerometer.READERS,
    *light_sensor.READERS,
    *proximity_sensor.READERS,
    *hinge_angle.READERS,
)
"""In the order of `model.inventory.KINDS`."""
