"""What numbers of sensors stand for, and the doubts about them."""

from collections.abc import Iterator

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.sensor_doubts import (
    doubt_gravity,
    doubt_light,
    doubt_limit,
    doubt_speed,
    doubt_temperature,
    explain_absence,
)
from closeout.decode.sensor_dummies import DUMMIES, Dummy, Meaning, Quantity, find_dummy

CHIP, FIRMWARE, SPEED = Quantity.TEMPERATURE, Quantity.FIRMWARE_TEMPERATURE, Quantity.SPEED
in_64_bits = st.integers(-(1 << 63), (1 << 64) - 1)


@pytest.mark.parametrize(
    ("quantity", "number", "word"),
    [
        (CHIP, -273_150, "absolute zero"),
        (FIRMWARE, -273_200, "absolute zero"),
        (FIRMWARE, -273_100, "absolute zero"),
        (CHIP, 127_000, "no sensor is connected"),
        (CHIP, 127_875, "no sensor is connected"),
        (CHIP, 128_000, "no sensor is connected"),
        (CHIP, -128_000, "no sensor answers"),
        (CHIP, 255_000, "every bit"),
        (SPEED, 65_535, "every bit"),
        (SPEED, -1, "below zero"),
        (SPEED, 0xFFFF_FFFF, "does not tell"),
    ],
)
def test_what_stands_for_no_sensor_is_named(quantity: Quantity, number: int, word: str) -> None:
    assert word in (explain_absence(quantity, number) or "")


@pytest.mark.parametrize(
    ("quantity", "number"),
    [
        (CHIP, 126_999),
        (CHIP, -40_000),
        (CHIP, 0),
        (FIRMWARE, 27_800),
        (SPEED, 0),
        (SPEED, 65_533),
        (SPEED, 2_215),
    ],
)
def test_a_measurement_is_not_left_out(quantity: Quantity, number: int) -> None:
    assert explain_absence(quantity, number) is None


@pytest.mark.parametrize("constant", [25_000, 26_800, 26_900, 27_800, 27_900, 29_800, 29_900])
def test_constants_of_firmware_are_doubted_in_its_own_zones_alone(constant: int) -> None:
    (doubt,) = doubt_temperature(FIRMWARE, constant)
    assert "moves under load" in doubt
    assert not list(doubt_temperature(CHIP, constant))


def test_kelvin_constants_are_what_they_are_called() -> None:
    """27.8 °C is 301.0 K where the kernel takes 273.2 K for 0 °C (drivers/acpi/thermal.c)."""
    for kelvin, millicelsius in ((3000, 26_800), (3010, 27_800), (3030, 29_800)):
        assert (kelvin - 2732) * 100 == millicelsius
        dummy = find_dummy(FIRMWARE, millicelsius)
        assert dummy
        assert f"({kelvin / 10:.1f} K)" in dummy.reason


def test_zero_degrees_are_doubted_everywhere() -> None:
    assert list(doubt_temperature(CHIP, 0)) == list(doubt_temperature(FIRMWARE, 0))
    assert "0 °C" in next(doubt_temperature(CHIP, 0))


@given(st.integers(-30_000, 120_000))
def test_a_chip_may_show_what_a_notebook_can_have(millicelsius: int) -> None:
    doubts = list(doubt_temperature(CHIP, millicelsius))
    assert bool(doubts) == (millicelsius == 0)


@given(in_64_bits)
def test_outside_of_it_every_number_is_doubted_or_left_out(number: int) -> None:
    if not -30_000 <= number <= 120_000:
        assert explain_absence(CHIP, number) or any(doubt_temperature(CHIP, number))


@pytest.mark.parametrize(
    ("now", "critical", "doubted"),
    [(99_999, 100_000, False), (100_000, 100_000, True), (50_000, 0, False), (1, -1, False)],
)
def test_nobody_measures_above_the_limit_that_switches_off(
    now: int, critical: int, *, doubted: bool
) -> None:
    assert any(doubt_limit(now, critical)) == doubted


@given(st.integers(0, 20_000))
def test_a_fan_may_stand_or_turn(rpm: int) -> None:
    assert not list(doubt_speed(rpm))


def test_no_fan_turns_that_fast() -> None:
    assert "20000 rpm" in next(doubt_speed(20_001))


@pytest.mark.parametrize(
    ("gravity", "doubted"),
    [(9_807, False), (9_300, False), (10_300, False), (9_299, True), (10_301, True), (0, True)],
)
def test_gravity(gravity: int, *, doubted: bool) -> None:
    assert any(doubt_gravity(gravity)) == doubted


@pytest.mark.parametrize(
    ("millilux", "words"),
    [(0, "it is dark"), (312_000, ""), (150_000_001, "no light"), (-1, "no light")],
)
def test_light(millilux: int, words: str) -> None:
    doubts = list(doubt_light(millilux))
    assert bool(doubts) == bool(words)
    assert not words or words in doubts[0]


def test_the_table_says_why_and_from_where() -> None:
    assert all(dummy.reason and dummy.source and dummy.low <= dummy.high for dummy in DUMMIES)
    assert {dummy.meaning for dummy in DUMMIES} == set(Meaning)


def test_no_two_rows_speak_of_one_number() -> None:
    for first, second in _pairs():
        if first.quantities & second.quantities:
            assert first.high < second.low or second.high < first.low


def _pairs() -> Iterator[tuple[Dummy, Dummy]]:
    for index, first in enumerate(DUMMIES):
        for second in DUMMIES[index + 1 :]:
            yield first, second
