"""Real-time clocks, as a drawn machine shows them."""

import errno

import pytest

from closeout.decode.clock_tick import ClockTick, encode_tick
from closeout.model.device import Position
from closeout.model.reading import Absent, Unreadable, Value
from closeout.readers.clock import NO_DATE, find_clocks, read_clock
from strategies.drawn_tree import Content, DrawnTree
from strategies.shown import value_of, values_of

PLACE = "sys/devices/pnp0/00:04/rtc/rtc0"
QUESTION = "clock tick rtc0"
FILES: dict[str, Content] = {
    f"{PLACE}/name": b"rtc_cmos 00:04\n",
    f"{PLACE}/since_epoch": b"1795165840\n",
    f"{PLACE}/hctosys": b"1\n",
    "proc/driver/rtc": b"rtc_time\t: 09:10:40\nbatt_status\t: okay\n",
}
LINKS = {"sys/class/rtc/rtc0": PLACE}
TICK = encode_tick(ClockTick(shown=1795165841, microseconds=23_000_000, ticked=True))


def clock(files: dict[str, Content] | None = None, answer: Content | None = TICK) -> DrawnTree:
    answers = {} if answer is None else {QUESTION: answer}
    return DrawnTree(files={**FILES, **(files or {})}, links=LINKS, answers=answers)


def test_a_clock_is_read_whole() -> None:
    listing = find_clocks(clock())
    assert value_of(listing) == (PLACE,)
    found = read_clock(clock(), PLACE)
    assert (found.label, found.position) == ("rtc0", Position.INTERNAL)
    assert values_of(found) == {
        "chip": "rtc_cmos 00:04",
        "kernel_clock": True,
        "since_epoch_seconds": 1795165841,
        "read_at_microseconds": 23_000_000,
        "running": True,
        "battery_state": "okay",
    }


def test_nothing_is_said_of_right_or_wrong_without_a_reference() -> None:
    found = read_clock(clock(), PLACE)
    for reading in (found.kept_time, found.local_offset, found.error_seconds, found.reference):
        assert isinstance(reading, Unreadable)
        assert reading.error == "NO_REFERENCE"


def test_a_source_that_cannot_watch_shows_the_file() -> None:
    found = read_clock(clock(answer=None), PLACE)
    assert value_of(found.since_epoch_seconds) == 1795165840
    for reading in (found.running, found.read_at_microseconds):
        assert isinstance(reading, Unreadable)
        assert reading.error == "NOT_OFFERED"


def test_a_clock_that_stands_does_not_run() -> None:
    still = encode_tick(ClockTick(shown=7, microseconds=1, ticked=False))
    assert value_of(read_clock(clock(answer=still), PLACE).running) is False


def test_an_impossible_date_is_told_as_none() -> None:
    refusing = clock({f"{PLACE}/since_epoch": errno.EINVAL}, errno.EINVAL)
    found = read_clock(refusing, PLACE)
    for reading in (found.since_epoch_seconds, found.running):
        assert isinstance(reading, Unreadable)
        assert (reading.error, reading.advice) == ("EINVAL", NO_DATE)


@pytest.mark.parametrize(("answer", "error"), [(b"[]", "MALFORMED"), (errno.EIO, "EIO")])
def test_an_answer_that_is_none_is_unreadable(answer: Content, error: str) -> None:
    found = read_clock(clock(answer=answer), PLACE)
    assert isinstance(found.running, Unreadable)
    assert found.running.error == error


def test_only_the_pcs_own_clock_tells_of_its_supply() -> None:
    other = read_clock(clock({f"{PLACE}/name": b"rtc-efi rtc-efi.0\n"}), PLACE)
    assert isinstance(other.battery_state, Absent)
    dead = read_clock(clock({"proc/driver/rtc": b"batt_status\t: dead\n"}), PLACE)
    assert value_of(dead.battery_state) == "dead"
    none = read_clock(clock({"proc/driver/rtc": b"rtc_time\t: 09:10:40\n"}), PLACE)
    assert isinstance(none.battery_state, Absent)
    odd = read_clock(clock({"proc/driver/rtc": b"batt_status : fine\n"}), PLACE)
    assert isinstance(odd.battery_state, Unreadable)
    denied = read_clock(clock({"proc/driver/rtc": errno.EACCES}), PLACE)
    assert isinstance(denied.battery_state, Unreadable)
    assert denied.battery_state.advice == "run as root"


def test_a_unit_without_a_clock_has_none_and_an_unreadable_class_is_not_empty() -> None:
    empty = DrawnTree(files={"sys/class/net/lo/address": b"\n"})
    assert value_of(find_clocks(empty)) == ()
    assert isinstance(find_clocks(DrawnTree()), Absent)
    refused = find_clocks(DrawnTree(files={"sys/class/rtc": errno.EACCES}))
    assert isinstance(refused, Unreadable)
    assert not isinstance(refused, Value)
