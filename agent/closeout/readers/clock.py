"""Real-time clocks: what they show, whether they run, and what their chip says of its supply.

Kernel path: `sys/class/rtc/rtcN/{name,since_epoch,hctosys}`
(Documentation/ABI/testing/sysfs-class-rtc), `proc/driver/rtc` of the PC's own clock
(Documentation/admin-guide/rtc.rst; its row `batt_status` is the chip's VRT bit). What a clock is
held against comes later: a reader knows no reference time.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, TypeVar

from closeout.decode.clock_tick import ClockTick, decode_tick, tick_question
from closeout.decode.failure import DecodeError
from closeout.decode.plain_text import decode_text
from closeout.kernel.failure import ReadError
from closeout.kernel.tree import KernelTree
from closeout.model.clock import Clock
from closeout.model.inventory import Listing
from closeout.model.reading import Absent, Reading, Unreadable, Value, convert
from closeout.readers.attributes import (
    list_class,
    no_value,
    read_bytes,
    read_flag,
    read_integer,
    read_text,
)
from closeout.readers.first_told import first_told
from closeout.readers.places import label_of, locate, read_position
from closeout.readers.reader import Reader

T = TypeVar("T")

CLASS: Final = "sys/class/rtc"
PC_CLOCK: Final = "proc/driver/rtc"
PC_DRIVER: Final = "rtc_cmos"
BATTERY_ROW: Final = "batt_status"
BATTERY_STATES: Final = frozenset({"okay", "dead"})
NO_DATE: Final = "the clock holds no valid date; set it, and check again"
NO_REFERENCE: Final = "give a reference time with its source when the unit is read"


def find_clocks(tree: KernelTree) -> Listing:
    """The places of all real-time clocks."""
    listing = list_class(tree, CLASS)
    return convert_places(tree, listing, CLASS)


def convert_places(tree: KernelTree, listing: Listing, folder: str) -> Listing:
    """The listing of a class with the places behind its links."""
    if not isinstance(listing, Value):
        return listing
    places = tuple(locate(tree, f"{folder}/{name}") for name in listing.value)
    return Value(value=places, sources=listing.sources)


def read_clock(tree: KernelTree, place: str) -> Clock:
    """One clock, not yet held against anything."""
    label = label_of(place)
    tick = ask_tick(tree, label)
    chip = read_text(tree, f"{place}/name")
    ways = (
        lambda: convert(tick, lambda found: found.shown),
        lambda: read_integer(tree, f"{place}/since_epoch"),
    )
    shown = first_told(ways, "the kernel does not show what the clock tells")
    waiting = Unreadable(error="NO_REFERENCE", advice=NO_REFERENCE, sources=shown.sources)
    return Clock(
        place=place,
        label=label,
        position=read_position(tree, place),
        chip=chip,
        kernel_clock=read_flag(tree, f"{place}/hctosys"),
        since_epoch_seconds=_told_plainly(shown),
        read_at_microseconds=convert(tick, lambda found: found.microseconds),
        running=convert(tick, lambda found: found.ticked),
        battery_state=_read_battery(tree, chip),
        kept_time=waiting,
        local_offset=waiting,
        error_seconds=waiting,
        reference=waiting,
    )


def ask_tick(tree: KernelTree, name: str) -> Reading[ClockTick]:
    """What the clock showed when its second changed."""
    question = tick_question(name)
    try:
        return Value(value=decode_tick(tree.ask(question)), sources=(question,))
    except ReadError as failure:
        return _told_plainly(no_value(failure))
    except DecodeError as error:
        return Unreadable(error="MALFORMED", advice=str(error), sources=(question,))


def _told_plainly(reading: Reading[T]) -> Reading[T]:
    """EINVAL is how the kernel's clock core refuses an impossible date (rtc_valid_tm)."""
    if isinstance(reading, Unreadable) and reading.error == "EINVAL":
        return Unreadable(error=reading.error, advice=NO_DATE, sources=reading.sources)
    return reading


def _read_battery(tree: KernelTree, chip: Reading[str]) -> Reading[str]:
    """The row of the PC's clock; the file is about that clock alone."""
    if isinstance(chip, Value) and not chip.value.startswith(PC_DRIVER):
        return Absent(reason="only the PC's own clock tells it", sources=chip.sources)
    table = read_bytes(tree, PC_CLOCK)
    if not isinstance(table, Value):
        return table
    state = rows_of(table.value).get(BATTERY_ROW)
    if state is None:
        return Absent(reason="the clock's table has no such row", sources=table.sources)
    if state not in BATTERY_STATES:
        advice = f"okay or dead was expected, {state[:40]!r} was read"
        return Unreadable(error="MALFORMED", advice=advice, sources=table.sources)
    return Value(value=state, sources=table.sources)


def rows_of(raw: bytes) -> Mapping[str, str]:
    """The rows of a table such as `batt_status : okay`."""
    pairs = (line.partition(":") for line in decode_text(raw).split("\n"))
    return {key.strip(): value.strip() for key, mark, value in pairs if mark}


READERS: Final = (Reader(kind="clock", find=find_clocks, read=read_clock),)
