"""What an input device is, by what it can do: keyboard, touchpad, touchscreen, switch.

The rules are those by which systemd sets ID_INPUT_... (src/udev/udev-builtin-input_id.c) told in
our own words, so that a machine on which udev never ran is told apart the same way. Properties
and numbers: Documentation/input/event-codes.rst.
"""

from __future__ import annotations

from enum import Enum
from typing import Final

from closeout.decode import input_codes as codes
from closeout.model.frozen import frozen


class Role(Enum):
    """What a device is to a person; one device may have several roles."""

    KEYBOARD = "keyboard"
    KEYS = "keys"
    MOUSE = "mouse"
    POINTING_STICK = "pointing stick"
    TOUCHPAD = "touchpad"
    TOUCHSCREEN = "touchscreen"
    PEN = "pen"
    JOYSTICK = "joystick"
    ACCELEROMETER = "accelerometer"
    SWITCH = "switch"


POINTERS: Final = frozenset(
    {
        Role.MOUSE,
        Role.POINTING_STICK,
        Role.TOUCHPAD,
        Role.TOUCHSCREEN,
        Role.PEN,
        Role.JOYSTICK,
        Role.ACCELEROMETER,
    }
)
LETTER_KEYS: Final = frozenset(range(codes.KEY_ESC, codes.KEY_D))
"""From escape to S: whoever has all of these types; the rule stops at 31, below D."""
BUTTON_RANGES: Final = (
    range(1, codes.BTN_MISC),
    range(codes.KEY_OK, codes.BTN_DPAD_UP),
    range(codes.KEY_ALS_TOGGLE, codes.BTN_TRIGGER_HAPPY),
)
"""Numbers that are keys; those between are buttons of mice, pads, pens and games."""


@frozen
class Abilities:
    """The bitmaps of a device as sets."""

    events: frozenset[int] = frozenset()
    keys: frozenset[int] = frozenset()
    relative: frozenset[int] = frozenset()
    absolute: frozenset[int] = frozenset()
    switches: frozenset[int] = frozenset()
    properties: frozenset[int] = frozenset()


def tell_roles(can: Abilities) -> frozenset[Role]:
    """Every role that the device's abilities give it; none where it is nothing of these."""
    pointer = _tell_pointer(can)
    return frozenset(_tell_keys(can) | _tell_switch(can) | ({pointer} if pointer else set()))


def real_keys(can: Abilities) -> frozenset[int]:
    """The keys among all buttons."""
    return frozenset(key for key in can.keys if any(key in found for found in BUTTON_RANGES))


def _tell_keys(can: Abilities) -> set[Role]:
    if codes.EV_KEY not in can.events:
        return set()
    if can.keys >= LETTER_KEYS:
        return {Role.KEYBOARD, Role.KEYS}
    return {Role.KEYS} if real_keys(can) else set()


def _tell_switch(can: Abilities) -> set[Role]:
    return {Role.SWITCH} if codes.EV_SW in can.events else set()


def _tell_pointer(can: Abilities) -> Role | None:
    if _is_accelerometer(can):
        return Role.ACCELEROMETER
    if codes.INPUT_PROP_POINTING_STICK in can.properties:
        return Role.POINTING_STICK
    return _tell_absolute(can) or _tell_relative(can)


def _is_accelerometer(can: Abilities) -> bool:
    """It says so, or it has three axes and no key at all."""
    if codes.INPUT_PROP_ACCELEROMETER in can.properties:
        return True
    axes = {codes.ABS_X, codes.ABS_Y, codes.ABS_Z}
    return codes.EV_KEY not in can.events and can.absolute >= axes


def _tell_absolute(can: Abilities) -> Role | None:
    """A device with places on a surface: pen before finger, finger before touch."""
    many = _has_contacts(can)
    if codes.EV_ABS not in can.events or not (many or _has_plane(can)):
        return None
    is_direct = codes.INPUT_PROP_DIRECT in can.properties
    if can.keys & {codes.BTN_STYLUS, codes.BTN_TOOL_PEN}:
        return Role.PEN
    if codes.BTN_TOOL_FINGER in can.keys and not is_direct:
        return Role.TOUCHPAD
    if _has_plane(can) and _has_mouse_button(can):
        return Role.MOUSE
    if codes.BTN_TOUCH in can.keys or is_direct:
        return Role.TOUCHSCREEN
    return None


def _has_plane(can: Abilities) -> bool:
    return can.absolute >= {codes.ABS_X, codes.ABS_Y}


def _has_contacts(can: Abilities) -> bool:
    """Fingers told apart. With the number below ABS_MT_SLOT too it only counts axes upwards."""
    places = {codes.ABS_MT_POSITION_X, codes.ABS_MT_POSITION_Y}
    return can.absolute >= places and codes.ABS_MT_SLOT - 1 not in can.absolute


def _has_mouse_button(can: Abilities) -> bool:
    return any(number in can.keys for number in range(codes.BTN_MOUSE, codes.BTN_JOYSTICK))


def _tell_relative(can: Abilities) -> Role | None:
    moves = codes.EV_REL in can.events and can.relative >= {codes.REL_X, codes.REL_Y}
    has_coordinates = moves or _has_plane(can)
    return Role.MOUSE if has_coordinates and _has_mouse_button(can) else None
