"""What a precision touchpad says: its report descriptor, and reports of fingers.

Items: USB HID 1.11, 6.2.2. Usages: HID Usage Tables 1.12, 4 (generic desktop), 12 (buttons),
16 (digitizers). The collections are those that a Windows precision touchpad must have.
"""

import struct
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

WIDTH_MM: Final = 105
HEIGHT_MM: Final = 65
COUNTS_PER_MM: Final = 12
FINGERS: Final = 5

MOUSE: Final = 1
CAPABILITIES: Final = 2
CERTIFICATE: Final = 3
TOUCH: Final = 4
INPUT_MODE: Final = 5
SWITCHES: Final = 6
FEATURES: Final = {
    CAPABILITIES: bytes([FINGERS]),
    CERTIFICATE: bytes(256),
    INPUT_MODE: b"\x00",
    SWITCHES: b"\x03",
}
"""What features hold at first. The upper half of the capabilities says: the pad is the button."""

FINGER: Final = struct.Struct("<BHH")
REST: Final = struct.Struct("<HBB")

INPUT, FEATURE, COLLECTION, END = 0x80, 0xB0, 0xA0, 0xC0
USAGE_PAGE, LOGICAL_MINIMUM, LOGICAL_MAXIMUM, PHYSICAL_MINIMUM = 0x04, 0x14, 0x24, 0x34
PHYSICAL_MAXIMUM, UNIT_EXPONENT, UNIT, SIZE = 0x44, 0x54, 0x64, 0x74
REPORT, COUNT, USAGE, USAGE_MINIMUM, USAGE_MAXIMUM = 0x84, 0x94, 0x08, 0x18, 0x28
PHYSICAL, APPLICATION, LOGICAL = 0, 1, 2
CONSTANT, VARIABLE, RELATIVE = 3, 2, 6
DESKTOP, BUTTONS, DIGITIZER, VENDOR = 0x01, 0x09, 0x0D, 0xFF00
CENTIMETRE, SECOND = 0x11, 0x1001
HUNDREDTHS, TEN_THOUSANDTHS = 0x0E, 0x0C


@dataclass(frozen=True, slots=True, kw_only=True)
class Contact:
    """A finger on the pad, in counts from its upper left corner, or one that just left it."""

    number: int = 0
    x: int
    y: int
    touches: bool = True


def report_descriptor() -> bytes:
    """A touchpad for five fingers, its configuration, and the mouse that it is at first."""
    return _touchpad() + _configuration() + _mouse()


def touch_report(contacts: Sequence[Contact], *, pressed: bool, scan_time: int) -> bytes:
    """An input report with up to five contacts."""
    fingers = [_finger_bytes(contact) for contact in contacts]
    fingers += [bytes(FINGER.size)] * (FINGERS - len(contacts))
    rest = REST.pack(scan_time & 0xFFFF, len(contacts), pressed)
    return bytes([TOUCH]) + b"".join(fingers) + rest


def _finger_bytes(contact: Contact) -> bytes:
    is_finger = 1
    flags = is_finger | contact.touches << 1 | contact.number << 2
    return FINGER.pack(flags, contact.x, contact.y)


def item(prefix: int, value: int) -> bytes:
    """A short item, its value in the fewest bytes that leave no doubt about its sign."""
    for size, code in ((1, "b"), (2, "h"), (4, "i")):
        if -(1 << 8 * size - 1) <= value < 1 << 8 * size - 1:
            return bytes([prefix | min(size, 3)]) + struct.pack("<" + code, value)
    raise ValueError(f"{value} does not fit into an item")


def items(*pairs: tuple[int, int]) -> bytes:
    """Short items one after the other."""
    return b"".join(item(prefix, value) for prefix, value in pairs)


def collection(kind: int, *parts: bytes) -> bytes:
    """Items in a collection."""
    return item(COLLECTION, kind) + b"".join(parts) + bytes([END])


def _bits(count: int, limit: int, size: int) -> bytes:
    return items((LOGICAL_MAXIMUM, limit), (SIZE, size), (COUNT, count))


def _padding(main: int, bits: int) -> bytes:
    return items((SIZE, 1), (COUNT, bits), (main, CONSTANT))


def _touchpad() -> bytes:
    head = items((USAGE_PAGE, DIGITIZER), (USAGE, 0x05))
    return head + collection(
        APPLICATION,
        item(REPORT, TOUCH),
        *[_finger()] * FINGERS,
        _scan_time(),
        items((USAGE, 0x54)) + _bits(1, 127, 8) + item(INPUT, VARIABLE),
        items((USAGE_PAGE, BUTTONS), (USAGE, 1)) + _bits(1, 1, 1) + item(INPUT, VARIABLE),
        _padding(INPUT, 7),
        items((USAGE_PAGE, DIGITIZER), (REPORT, CAPABILITIES), (USAGE, 0x55), (USAGE, 0x59)),
        _bits(2, 15, 4) + item(FEATURE, VARIABLE),
        items((USAGE_PAGE, VENDOR), (REPORT, CERTIFICATE), (USAGE, 0xC5)),
        _bits(256, 255, 8) + item(FEATURE, VARIABLE),
    )


def _finger() -> bytes:
    confidence_and_tip = items((USAGE, 0x47), (USAGE, 0x42))
    head = items((USAGE_PAGE, DIGITIZER), (USAGE, 0x22))
    return head + collection(
        LOGICAL,
        item(LOGICAL_MINIMUM, 0) + confidence_and_tip + _bits(2, 1, 1) + item(INPUT, VARIABLE),
        item(USAGE, 0x51) + _bits(1, 7, 3) + item(INPUT, VARIABLE),
        _padding(INPUT, 3),
        items((USAGE_PAGE, DESKTOP), (UNIT, CENTIMETRE), (UNIT_EXPONENT, HUNDREDTHS)),
        item(PHYSICAL_MINIMUM, 0),
        _axis(0x30, WIDTH_MM),
        _axis(0x31, HEIGHT_MM),
        items((PHYSICAL_MAXIMUM, 0), (UNIT, 0), (UNIT_EXPONENT, 0)),
    )


def _axis(number: int, millimetres: int) -> bytes:
    head = items((USAGE, number), (PHYSICAL_MAXIMUM, millimetres * 10))
    return head + _bits(1, millimetres * COUNTS_PER_MM, 16) + item(INPUT, VARIABLE)


def _scan_time() -> bytes:
    unit = items((UNIT, SECOND), (UNIT_EXPONENT, TEN_THOUSANDTHS), (PHYSICAL_MAXIMUM, 0xFFFF))
    field = items((USAGE_PAGE, DIGITIZER), (USAGE, 0x56)) + _bits(1, 0xFFFF, 16)
    without_unit = items((PHYSICAL_MAXIMUM, 0), (UNIT, 0), (UNIT_EXPONENT, 0))
    return unit + field + item(INPUT, VARIABLE) + without_unit


def _configuration() -> bytes:
    head = items((USAGE_PAGE, DIGITIZER), (USAGE, 0x0E))
    mode = item(USAGE, 0x52) + _bits(1, 10, 8) + item(FEATURE, VARIABLE)
    switches = items((USAGE, 0x57), (USAGE, 0x58)) + _bits(2, 1, 1) + item(FEATURE, VARIABLE)
    return head + collection(
        APPLICATION,
        items((REPORT, INPUT_MODE), (USAGE, 0x22)) + collection(LOGICAL, mode),
        items((REPORT, SWITCHES), (USAGE, 0x22)),
        collection(LOGICAL, switches, _padding(FEATURE, 6)),
    )


def _mouse() -> bytes:
    head = items((USAGE_PAGE, DESKTOP), (USAGE, 0x02))
    buttons = items((USAGE_PAGE, BUTTONS), (USAGE_MINIMUM, 1), (USAGE_MAXIMUM, 2))
    movement = items((USAGE_PAGE, DESKTOP), (USAGE, 0x30), (USAGE, 0x31), (LOGICAL_MINIMUM, -127))
    return head + collection(
        APPLICATION,
        items((REPORT, MOUSE), (USAGE, 0x01)),
        collection(
            PHYSICAL,
            buttons + _bits(2, 1, 1) + item(INPUT, VARIABLE) + _padding(INPUT, 6),
            movement + _bits(2, 127, 8) + item(INPUT, RELATIVE),
        ),
    )
