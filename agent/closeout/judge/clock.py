"""The unit's clocks held against a reference time of a named source; the clock dates nothing.

How far a clock may be off, and what tells a clock that lost its time, are common practice.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from closeout.decode.calendar import days_since_1970, is_new_year, seconds_of
from closeout.model.clock import Clock
from closeout.model.device import Device
from closeout.model.frozen import frozen, replace
from closeout.model.identity import Bios
from closeout.model.inventory import Inventory
from closeout.model.late_pattern import late_pattern
from closeout.model.moment import ReferenceTime
from closeout.model.reading import Absent, Reading, Unreadable, Value, convert

UNIVERSAL: Final = "universal"
LOCAL: Final = "local"
RESET: Final = "reset"
NEW_YEAR: Final = "first of January"
NOT_A_DATE: Final = "not a date"
WRONG: Final = "wrong"

TOLERANCE: Final = 120
"""Seconds: a clock set by hand to the minute, and a reference time typed by hand."""
QUARTER_HOUR: Final = 900
"""Seconds; every zone that is in use is a whole number of them from UTC."""
MOST_QUARTERS: Final = 56
"""Fourteen hours: the farthest zone that is in use (UTC+14; the other way it is UTC-12)."""
DAY: Final = 86_400
MICROSECONDS: Final = 1_000_000
"""In a second."""
REFUSED_DATE: Final = "EINVAL"
FIRMWARE_DATE: Final = late_pattern(r"([0-9]{2})/([0-9]{2})/((?:[0-9]{2})?[0-9]{2})")
"""Month, day and year (DMTF DSP0134, 7.1, offset 08h); two digits of a year are 19xx."""


@frozen
class Judged:
    """What a clock keeps; `offset` is its zone in quarter hours where it keeps one's time."""

    kept: str
    quarters: int | None
    error: int | None


def hold_clocks(inventory: Inventory, references: Sequence[ReferenceTime]) -> Inventory:
    """The inventory with each clock held against the first reference time, where there is one."""
    reference = references[0] if references else None
    firmware = _firmware_day(inventory)
    sections = tuple(
        replace(
            section,
            devices=tuple(_held(device, reference, firmware) for device in section.devices),
        )
        for section in inventory.sections
    )
    return Inventory(sections=sections)


def judge_shown(shown: int, right: int | None, firmware_day: int | None) -> Judged:
    """What a clock keeps that showed `shown` when it was `right`, both in seconds from 1970.

    Before the day on which its firmware was released no unit was ever set; where that day itself
    is later than the reference time it proves nothing. None where nothing can be said.
    """
    offset = None if right is None else shown - right
    believed = firmware_day is not None and (right is None or firmware_day * DAY <= right + DAY)
    if believed and firmware_day is not None and shown < (firmware_day - 1) * DAY:
        return Judged(kept=RESET, quarters=None, error=_size(offset))
    if offset is None:
        return Judged(kept="", quarters=None, error=None)
    quarters = (offset + QUARTER_HOUR // 2) // QUARTER_HOUR
    rest = abs(offset - quarters * QUARTER_HOUR)
    if rest <= TOLERANCE and abs(quarters) <= MOST_QUARTERS:
        return Judged(kept=LOCAL if quarters else UNIVERSAL, quarters=quarters, error=rest)
    kept = NEW_YEAR if is_new_year(shown) else WRONG
    return Judged(kept=kept, quarters=None, error=_size(offset))


def show_offset(quarters: int) -> str:
    """Quarter hours as people write a zone: +02:00, -09:30."""
    hours, rest = divmod(abs(quarters), 4)
    return f"{'-' if quarters < 0 else '+'}{hours:02d}:{rest * 15:02d}"


def _size(offset: int | None) -> int | None:
    return None if offset is None else abs(offset)


def _held(device: Device, reference: ReferenceTime | None, firmware: Reading[int]) -> Device:
    if not isinstance(device, Clock):
        return device
    told = device if reference is None else replace(device, reference=_named(device, reference))
    shown = device.since_epoch_seconds
    if isinstance(shown, Unreadable) and shown.error == REFUSED_DATE:
        return replace(told, kept_time=Value(value=NOT_A_DATE, sources=shown.sources))
    if not isinstance(shown, Value):
        return replace(told, kept_time=shown, local_offset=shown, error_seconds=shown)
    right = _right_time(device, reference)
    day = firmware.value if isinstance(firmware, Value) else None
    judged = judge_shown(shown.value, right.value if isinstance(right, Value) else None, day)
    sources = shown.sources + (firmware.sources if judged.kept == RESET else ())
    return replace(
        told,
        kept_time=_kept(judged, right, sources),
        local_offset=_offset(judged, right, sources),
        error_seconds=_error(judged, right, sources),
    )


def _kept(judged: Judged, right: Reading[int], sources: tuple[str, ...]) -> Reading[str]:
    """What it keeps; where that could not be told, why the right time is not known."""
    if judged.kept:
        return Value(value=judged.kept, sources=sources)
    return convert(right, str)


def _named(device: Clock, reference: ReferenceTime) -> Value[str]:
    moment = reference.moment
    return Value(
        value=f"{moment.text}, {moment.source}", sources=device.since_epoch_seconds.sources
    )


def _right_time(device: Clock, reference: ReferenceTime | None) -> Reading[int]:
    """What the time was when the clock was read; the reading that says why it is not known."""
    waiting: Reading[int] = device.error_seconds
    if reference is None:
        return waiting
    started = seconds_of(reference.moment.text)
    read_at = device.read_at_microseconds
    if started is None:
        advice = f"{reference.moment.text!r} is no time in ISO 8601 UTC"
        return Unreadable(error="MALFORMED", advice=advice, sources=waiting.sources)
    if not isinstance(read_at, Value):
        advice = "when the clock showed this is not known; read the unit itself again"
        return Unreadable(error="MOMENT_UNKNOWN", advice=advice, sources=read_at.sources)
    passed = (read_at.value - reference.taken_at_microseconds) // MICROSECONDS
    return Value(value=started + passed, sources=read_at.sources)


def _offset(judged: Judged, right: Reading[int], sources: tuple[str, ...]) -> Reading[str]:
    if judged.quarters is not None:
        return Value(value=show_offset(judged.quarters), sources=sources)
    if isinstance(right, Value):
        return Absent(reason="what it shows is the time of no zone", sources=sources)
    return right


def _error(judged: Judged, right: Reading[int], sources: tuple[str, ...]) -> Reading[int]:
    if judged.error is not None:
        return Value(value=judged.error, sources=sources)
    return right


def _firmware_day(inventory: Inventory) -> Reading[int]:
    """The day on which the firmware was released, in days from 1970."""
    for device in inventory.section("bios").devices:
        if isinstance(device, Bios) and isinstance(device.date, Value):
            found = FIRMWARE_DATE.fullmatch(device.date.value.strip())
            if found and (day := _day(found[3], found[1], found[2])) is not None:
                return Value(value=day, sources=device.date.sources)
    return Absent(reason="the firmware tells no date", sources=())


def _day(year: str, month: str, day: str) -> int | None:
    century = 1900 if len(year) == 2 else 0  # noqa: PLR2004 - two digits
    return days_since_1970(century + int(year), int(month), int(day))
