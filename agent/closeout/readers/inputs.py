"""What a person touches: keyboards and their light, pointers, buttons and switches.

Each has its own file; the kernel paths are told there (`sys/class/input`, `sys/class/leds`).
"""

from __future__ import annotations

from typing import Final

from closeout.readers import input_devices, keyboard_light

READERS: Final = (
    *input_devices.KEYBOARDS,
    *keyboard_light.READERS,
    *input_devices.POINTERS_AND_SWITCHES,
)
