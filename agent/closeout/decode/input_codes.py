"""Numbers of the input interface and words for them (include/uapi/linux/input-event-codes.h)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

EV_KEY: Final = 0x01
EV_REL: Final = 0x02
EV_ABS: Final = 0x03
EV_SW: Final = 0x05

REL_X: Final = 0x00
REL_Y: Final = 0x01
ABS_X: Final = 0x00
ABS_Y: Final = 0x01
ABS_Z: Final = 0x02
ABS_MT_SLOT: Final = 0x2F
ABS_MT_POSITION_X: Final = 0x35
ABS_MT_POSITION_Y: Final = 0x36

KEY_ESC: Final = 0x01
KEY_D: Final = 0x20
BTN_MISC: Final = 0x100
BTN_MOUSE: Final = 0x110
BTN_JOYSTICK: Final = 0x120
BTN_DIGI: Final = 0x140
BTN_TOOL_PEN: Final = 0x140
BTN_TOOL_FINGER: Final = 0x145
BTN_TOUCH: Final = 0x14A
BTN_STYLUS: Final = 0x14B
KEY_OK: Final = 0x160
BTN_DPAD_UP: Final = 0x220
KEY_ALS_TOGGLE: Final = 0x230
BTN_TRIGGER_HAPPY: Final = 0x2C0

INPUT_PROP_DIRECT: Final = 0x01
INPUT_PROP_BUTTONPAD: Final = 0x02
INPUT_PROP_POINTING_STICK: Final = 0x05
INPUT_PROP_ACCELEROMETER: Final = 0x06

SW_LID: Final = 0x00
SW_TABLET_MODE: Final = 0x01
SWITCHES: Final[Mapping[int, str]] = {
    SW_LID: "lid",
    SW_TABLET_MODE: "tablet mode",
    0x02: "headphone insert",
    0x03: "radio block",
    0x04: "microphone insert",
    0x05: "dock",
    0x06: "line out insert",
    0x07: "jack physical insert",
    0x08: "video out insert",
    0x09: "camera lens cover",
    0x0A: "keypad slide",
    0x0B: "front proximity",
    0x0C: "rotate lock",
    0x0D: "line in insert",
    0x0E: "mute device",
    0x0F: "pen inserted",
    0x10: "machine cover",
}
KEYS: Final[Mapping[int, str]] = {
    102: "home",
    113: "mute",
    114: "volume down",
    115: "volume up",
    116: "power",
    125: "left meta",
    128: "stop",
    138: "help",
    140: "calculator",
    142: "sleep",
    143: "wake up",
    148: "program 1",
    149: "program 2",
    152: "screen lock",
    155: "mail",
    158: "back",
    161: "eject",
    163: "next song",
    164: "play or pause",
    165: "previous song",
    166: "stop media",
    171: "configuration",
    190: "F20",
    191: "F21",
    193: "F23",
    202: "program 3",
    203: "program 4",
    205: "suspend",
    212: "camera",
    224: "brightness down",
    225: "brightness up",
    226: "media",
    227: "switch video mode",
    228: "keyboard light toggle",
    229: "keyboard light down",
    230: "keyboard light up",
    236: "battery",
    237: "Bluetooth",
    238: "wireless",
    241: "next video",
    242: "previous video",
    243: "brightness cycle",
    244: "automatic brightness",
    245: "display off",
    247: "radio block",
    248: "microphone mute",
    0x1D0: "Fn",
    0x1D1: "Fn escape",
    0x212: "touchpad toggle",
    0x213: "touchpad on",
    0x214: "touchpad off",
    0x230: "ambient light toggle",
    0x231: "rotate lock toggle",
    0x279: "privacy screen toggle",
}
"""Keys that a notebook has beside its keyboard, or as buttons of their own."""


def name_switches(numbers: Iterable[int]) -> tuple[str, ...]:
    """Words for switches; one without a word is its number."""
    return tuple(SWITCHES.get(number) or f"switch {number:#x}" for number in sorted(numbers))


def name_keys(numbers: Iterable[int]) -> tuple[str, ...]:
    """Words for keys; one without a word is its number."""
    return tuple(KEYS.get(number) or f"key {number:#x}" for number in sorted(numbers))
