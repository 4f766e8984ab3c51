"""What the guest's touchpad says, read as USB HID 1.11, 6.2.2 says, field by field."""

import struct
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

# In the guest these are plain scripts that find each other by being in one folder.
sys.path.append(str(Path(__file__).parent / "in_guest"))

import touchpad
from touchpad_reports import (
    FEATURES,
    FINGERS,
    TOUCH,
    Contact,
    item,
    report_descriptor,
    touch_report,
)

Field = tuple[int, int, int]
"""Where it is in its report, in bits, its width, and its usage with the page above it."""


def short_items(raw: bytes) -> Iterator[tuple[int, int]]:
    offset = 0
    while offset < len(raw):
        size = (0, 1, 2, 4)[raw[offset] & 3]
        value = int.from_bytes(raw[offset + 1 : offset + 1 + size], "little")
        yield raw[offset] & 0xFC, value
        offset += 1 + size


def fields(raw: bytes) -> dict[tuple[int, int], list[Field]]:
    """The fields by main item (80h input, B0h feature) and report."""
    found: dict[tuple[int, int], list[Field]] = {}
    state: dict[int, int] = {}
    usages: list[int] = []
    for prefix, value in short_items(raw):
        if prefix == 0x08:
            usages.append(state[0x04] << 16 | value)
        elif prefix in {0x80, 0xB0}:
            report = found.setdefault((prefix, state[0x84]), [])
            for index in range(state[0x94]):
                at = sum(width for _, width, _ in report)
                usage = usages[min(index, len(usages) - 1)] if usages else 0
                report.append((at, state[0x74], usage))
            usages = []
        elif prefix in {0xA0, 0xC0}:
            usages = []
        else:
            state[prefix] = value
    return found


DESCRIBED = fields(report_descriptor())


def test_collections_are_closed_where_they_are_opened() -> None:
    depth = 0
    for prefix, _ in short_items(report_descriptor()):
        depth += (prefix == 0xA0) - (prefix == 0xC0)
        assert depth >= 0
    assert depth == 0


def test_every_feature_has_its_described_length() -> None:
    lengths = {
        report: sum(width for _, width, _ in told)
        for (main, report), told in DESCRIBED.items()
        if main == 0xB0
    }
    assert lengths == {report: 8 * len(value) for report, value in FEATURES.items()}


counts = st.tuples(st.integers(0, 1260), st.integers(0, 780), st.booleans())


@given(
    fingers=st.lists(counts, max_size=FINGERS),
    pressed=st.booleans(),
    scan_time=st.integers(0, 1 << 40),
)
def test_a_report_is_what_the_descriptor_says(
    fingers: list[tuple[int, int, bool]], *, pressed: bool, scan_time: int
) -> None:
    contacts = [
        Contact(number=number, x=x, y=y, touches=touches)
        for number, (x, y, touches) in enumerate(fingers)
    ]
    report = touch_report(contacts, pressed=pressed, scan_time=scan_time)
    whole = int.from_bytes(report[1:], "little")
    told: dict[int, list[int]] = {}
    for at, width, usage in DESCRIBED[0x80, TOUCH]:
        told.setdefault(usage, []).append(whole >> at & (1 << width) - 1)
    here = len(contacts)
    assert report[0] == TOUCH
    assert 8 * len(report[1:]) == sum(width for _, width, _ in DESCRIBED[0x80, TOUCH])
    assert told[0x0D0051][:here] == [contact.number for contact in contacts]
    assert told[0x0D0042][:here] == [contact.touches for contact in contacts]
    assert told[0x010030][:here] == [contact.x for contact in contacts]
    assert told[0x010031][:here] == [contact.y for contact in contacts]
    assert told[0x0D0054] == [here]
    assert told[0x0D0056] == [scan_time & 0xFFFF]
    assert told[0x090001] == [pressed]


@given(st.integers(-(1 << 31), (1 << 31) - 1))
def test_an_item_holds_its_value_with_its_sign(value: int) -> None:
    raw = item(0x24, value)
    assert int.from_bytes(raw[1:], "little", signed=True) == value
    assert len(raw) == 1 + (0, 1, 2, 4)[raw[0] & 3]


def test_the_device_byte_by_byte() -> None:
    event = touchpad.create_event("fe31:0214", "FE310214:00 FE31:0214 Touchpad")
    assert event[:4] == b"\x0b\0\0\0"
    assert event[4:132].rstrip(b"\0") == b"FE310214:00 FE31:0214"
    assert event[132:196].rstrip(b"\0") == b"i2c-FE310214:00"
    length, bus, vendor, product = struct.unpack_from("<HHII", event, 260)
    assert (bus, vendor, product) == (0x18, 0xFE31, 0x0214)
    assert event[280:] == report_descriptor()
    assert len(event) == 280 + length


@pytest.mark.parametrize("report", sorted(FEATURES))
def test_a_feature_is_told_with_its_number(report: int) -> None:
    reply = touchpad.Answers().answer(touchpad.ASKED.pack(9, 77, report, 0))
    value = bytes([report]) + FEATURES[report]
    assert reply == struct.pack("<IIHH", 10, 77, 0, len(value)) + value


@given(st.binary(min_size=1, max_size=1))
def test_a_feature_keeps_what_was_set(value: bytes) -> None:
    answers = touchpad.Answers()
    taken = answers.answer(touchpad.SENT.pack(13, 5, 5, 0, 2) + b"\x05" + value + bytes(4094))
    assert taken == struct.pack("<IIH", 14, 5, 0)
    told = answers.answer(touchpad.ASKED.pack(9, 6, 5, 0))
    assert told == struct.pack("<IIHH", 10, 6, 0, 2) + b"\x05" + value


def test_what_is_no_feature_is_refused() -> None:
    answers = touchpad.Answers()
    assert answers.answer(touchpad.ASKED.pack(9, 7, 99, 0)) == struct.pack("<IIHH", 10, 7, 5, 0)
    longer = touchpad.SENT.pack(13, 8, 5, 0, 3) + b"\x05\x01\x02"
    assert answers.answer(longer) == struct.pack("<IIH", 14, 8, 5)
    opened = struct.pack("<I", 4)
    assert answers.answer(opened) is None


def test_a_finger_moves_and_leaves() -> None:
    steps = list(touchpad.movements("move 100 200 700 300"))
    first, last = steps[0][0], steps[-1][0]
    assert (first.x, first.y, first.touches) == (100, 200, True)
    assert (last.x, last.y, last.touches) == (700, 300, False)
    assert not any(pressed for _, pressed in steps)


def test_a_press_is_released() -> None:
    assert [pressed for _, pressed in touchpad.movements("press 5 6")] == [True, False, False]


@pytest.mark.parametrize("order", ["move 1 2", "press", "dance 1 2", "move a b c d"])
def test_an_order_that_nobody_knows_is_refused(order: str) -> None:
    with pytest.raises(ValueError, match=r".+"):
        list(touchpad.movements(order))
