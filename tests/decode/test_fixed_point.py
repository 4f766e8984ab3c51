"""Decimal numbers and sensor values, exactly.

Worked values: 1000 counts of 0.009806650 are standard gravity, 9.80665 m/s² (ISO 80000-3); pi
radians are 180 degrees.
"""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.fixed_point import (
    apply_scale,
    as_thousandths,
    degrees_of,
    length_of,
    parse_decimal,
)

axes = st.integers(-40_000, 40_000)


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("0.009806650\n", Fraction(980665, 10**8)),
        ("-3", Fraction(-3)),
        ("+1.5", Fraction(3, 2)),
        (" 312 ", Fraction(312)),
    ],
)
def test_decimals_are_exact(text: str, number: Fraction) -> None:
    assert parse_decimal(text) == number


@pytest.mark.parametrize(
    "text", ["", ".5", "1.", "1/3", "1e9", "nan", "1_0", "0x10", "1 2", "1.5 dB", "1" * 31, "٣"]
)
def test_anything_else_is_no_decimal(text: str) -> None:
    assert parse_decimal(text) is None


@given(st.text())
def test_any_text_is_a_number_or_none(text: str) -> None:
    number = parse_decimal(text)
    assert number is None or number == Fraction(Decimal(text.strip()))


@given(st.decimals(min_value=-(10**9), max_value=10**9, places=9))
def test_what_the_kernel_writes_comes_back(number: Decimal) -> None:
    assert parse_decimal(f"{number:f}") == Fraction(number)


def test_gravity_out_of_counts() -> None:
    value = apply_scale(Fraction(1000), Fraction(0), Fraction("0.009806650"))
    assert as_thousandths(value) == 9807


def test_the_offset_comes_before_the_scale() -> None:
    assert apply_scale(Fraction(10), Fraction(-4), Fraction(1, 2)) == 3


def test_degrees() -> None:
    assert as_thousandths(degrees_of(Fraction("3.141592653"))) == 180_000
    assert as_thousandths(degrees_of(Fraction("1.570796327"))) == 90_000
    assert as_thousandths(degrees_of(Fraction("-0.017453293"))) == -1_000


@given(axes, axes, axes)
def test_a_length_is_rounded_down(x: int, y: int, z: int) -> None:
    length = length_of((x, y, z))
    assert length**2 <= x * x + y * y + z * z < (length + 1) ** 2
