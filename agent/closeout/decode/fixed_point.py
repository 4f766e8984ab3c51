"""Decimal numbers as the kernel writes them, and sensor values out of them, without any float.

Document: Documentation/ABI/testing/sysfs-bus-iio. A value is `_input`, or (raw + offset) x scale.
"""

from __future__ import annotations

from math import isqrt
from typing import TYPE_CHECKING, Final

from closeout.model.late_pattern import late_pattern

if TYPE_CHECKING:
    from fractions import Fraction

DECIMAL: Final = late_pattern(r"[+-]?[0-9]{1,30}(\.[0-9]{1,30})?")
MILLI: Final = 1000
PI: Final = (3_141_592_653_589_793, 10**15)
"""Numerator and denominator."""
HALF_TURN: Final = 180
"""Degrees of pi radians."""


def parse_decimal(text: str) -> Fraction | None:
    """The number that the text is, exactly; None where it is not one."""
    from fractions import Fraction  # noqa: PLC0415 - of no use without such a sensor

    stripped = text.strip()
    return Fraction(stripped) if DECIMAL.fullmatch(stripped) else None


def apply_scale(raw: Fraction, offset: Fraction, scale: Fraction) -> Fraction:
    """The value of a channel in its unit, out of what the chip counts."""
    return (raw + offset) * scale


def as_thousandths(value: Fraction) -> int:
    """The value in thousandths of its unit, rounded to the nearest."""
    return round(value * MILLI)


def degrees_of(radians: Fraction) -> Fraction:
    """An angle in degrees."""
    numerator, denominator = PI
    return radians * HALF_TURN * denominator / numerator


def length_of(axes: tuple[int, int, int]) -> int:
    """The length of a vector, rounded down."""
    return isqrt(sum(axis * axis for axis in axes))
