"""Numbers that sensors show where they measure nothing: a table, each with reason and source.

`judge` takes no part in it: what stands for no sensor becomes an absence, what may be a dummy
becomes a doubt with its reason, and neither is ever a failure by itself.
"""

from __future__ import annotations

from enum import Enum
from typing import Final

from closeout.model.frozen import frozen


class Quantity(Enum):
    """What is measured: thousandths of a degree, of a firmware's own zone too, or rpm."""

    TEMPERATURE = "temperature"
    FIRMWARE_TEMPERATURE = "temperature of a firmware zone"
    SPEED = "speed"


class Meaning(Enum):
    """What a number stands for."""

    NO_SENSOR = "nothing is measured"
    DOUBTFUL = "a dummy, or a value that is true by chance"


@frozen
class Dummy:
    """The numbers from `low` to `high`, both included, of some quantities."""

    quantities: frozenset[Quantity]
    low: int
    high: int
    meaning: Meaning
    reason: str
    source: str


BOTH: Final = frozenset({Quantity.TEMPERATURE, Quantity.FIRMWARE_TEMPERATURE})
ZONE: Final = frozenset({Quantity.FIRMWARE_TEMPERATURE})
SPEED: Final = frozenset({Quantity.SPEED})
PRACTICE: Final = "common practice"
TENTHS_OF_KELVIN: Final = (
    "ACPI 6.5, 11.4 (_TMP in tenths of a kelvin); that firmware returns such constants: common"
    " practice"
)
FARTHEST: Final = 1 << 70
"""Beyond every number that a kernel file can hold in 64 bits."""


def _constant(millicelsius: int, kelvin: str) -> Dummy:
    """A constant of firmware; the kernel takes 0 degrees as 273.2 K or 273.1 K."""
    return Dummy(
        quantities=ZONE,
        low=millicelsius,
        high=millicelsius + 100,
        meaning=Meaning.DOUBTFUL,
        reason=f"{kelvin} is a known dummy of firmware: a real sensor moves under load",
        source=TENTHS_OF_KELVIN,
    )


DUMMIES: Final = (
    Dummy(
        quantities=BOTH,
        low=-FARTHEST,
        high=-273_000,
        meaning=Meaning.NO_SENSOR,
        reason="it stands at absolute zero: a field that counts kelvin holds 0",
        source="NVM Express Base Specification 2.0, SMART log and WCTEMP: 0 is not reported",
    ),
    Dummy(
        quantities=BOTH,
        low=-128_000,
        high=-127_000,
        meaning=Meaning.NO_SENSOR,
        reason="it stands at the bottom of a scale of eight bits: no sensor answers",
        source=PRACTICE,
    ),
    Dummy(
        quantities=BOTH,
        low=127_000,
        high=128_000,
        meaning=Meaning.NO_SENSOR,
        reason="it stands at the top of a scale of eight bits: no sensor is connected",
        source=PRACTICE,
    ),
    Dummy(
        quantities=BOTH,
        low=255_000,
        high=256_000,
        meaning=Meaning.NO_SENSOR,
        reason="every bit of it is set: no sensor answers",
        source=PRACTICE,
    ),
    Dummy(
        quantities=BOTH,
        low=0,
        high=0,
        meaning=Meaning.DOUBTFUL,
        reason="exactly 0 °C is what an unread sensor shows",
        source=PRACTICE,
    ),
    _constant(25_000, "25.0 °C"),
    _constant(26_800, "26.8 °C (300.0 K)"),
    _constant(27_800, "27.8 °C (301.0 K)"),
    _constant(29_800, "29.8 °C (303.0 K)"),
    Dummy(
        quantities=SPEED,
        low=-FARTHEST,
        high=-1,
        meaning=Meaning.NO_SENSOR,
        reason="a speed below zero: no pulse counter answers",
        source=PRACTICE,
    ),
    Dummy(
        quantities=SPEED,
        low=65_534,
        high=65_535,
        meaning=Meaning.NO_SENSOR,
        reason="every bit of its sixteen is set: no pulse counter answers",
        source=PRACTICE,
    ),
    Dummy(
        quantities=SPEED,
        low=0xFFFF_FFFF,
        high=FARTHEST,
        meaning=Meaning.NO_SENSOR,
        reason="the firmware does not tell the speed",
        source="ACPI 6.5, 11.3.1.4 (_FST): FFFFFFFFh where the speed is not supported",
    ),
)
"""The first that fits counts."""


def find_dummy(quantity: Quantity, number: int) -> Dummy | None:
    """What the table says of a number; None where it is a measurement like any other."""
    for dummy in DUMMIES:
        if quantity in dummy.quantities and dummy.low <= number <= dummy.high:
            return dummy
    return None
