"""Why a value of a sensor may not be true, in words; nothing where it is like any other.

Pure functions of numbers. The bounds are common practice for a notebook on a bench, far wider
than what a healthy one shows; gravity is the standard 9.80665 m/s² (ISO 80000-3), with room for
an uncalibrated chip.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from closeout.decode.sensor_dummies import Meaning, Quantity, find_dummy

COLDEST: Final = -30_000
HOTTEST: Final = 120_000
"""Thousandths of a degree Celsius."""
FASTEST: Final = 20_000
"""Revolutions a minute."""
LEAST_GRAVITY: Final = 9_300
MOST_GRAVITY: Final = 10_300
"""mm/s² of a unit that lies still."""
BRIGHTEST: Final = 150_000_000
"""Millilux; the sun at noon gives somewhat more than 100,000 lux."""


def explain_absence(quantity: Quantity, number: int) -> str | None:
    """Why the number is no measurement at all; None where it is one."""
    dummy = find_dummy(quantity, number)
    return dummy.reason if dummy and dummy.meaning is Meaning.NO_SENSOR else None


def doubt_temperature(quantity: Quantity, millicelsius: int) -> Iterator[str]:
    """Doubts about a temperature."""
    yield from _doubt_dummy(quantity, millicelsius)
    if not COLDEST <= millicelsius <= HOTTEST:
        yield f"outside of {COLDEST // 1000} to {HOTTEST // 1000} °C, where no running notebook is"


def doubt_limit(millicelsius: int, critical_millicelsius: int) -> Iterator[str]:
    """Doubts about a temperature beside its own critical limit."""
    if 0 < critical_millicelsius <= millicelsius:
        yield "at or above its critical limit, where the unit would have switched off"


def doubt_speed(rpm: int) -> Iterator[str]:
    """Doubts about the speed of a fan; standing still is none, as fans rest in a cool unit."""
    yield from _doubt_dummy(Quantity.SPEED, rpm)
    if rpm > FASTEST:
        yield f"above {FASTEST} rpm, faster than a notebook's fan turns"


def doubt_gravity(millimetres_per_square_second: int) -> Iterator[str]:
    """Doubts about the acceleration of a unit at rest, in mm/s²."""
    if not LEAST_GRAVITY <= millimetres_per_square_second <= MOST_GRAVITY:
        yield "not the 9.8 m/s² of a unit at rest: it was moved, or the sensor is wrong"


def doubt_light(millilux: int) -> Iterator[str]:
    """Doubts about the light around a unit."""
    if millilux == 0:
        yield "0 lux: it is dark, the sensor is covered, or it gives no answer"
    elif not 0 < millilux <= BRIGHTEST:
        yield "no light that there is, in the sun or out of it"


def _doubt_dummy(quantity: Quantity, number: int) -> Iterator[str]:
    dummy = find_dummy(quantity, number)
    if dummy and dummy.meaning is Meaning.DOUBTFUL:
        yield dummy.reason
