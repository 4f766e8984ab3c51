"""What the guest's chips hold in their registers, read as their drivers read them."""

import struct
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

# In the guest these are plain scripts that find each other by being in one folder.
sys.path.append(str(Path(__file__).parent / "in_guest"))

import sensors

ONE_OF_EACH: list[dict[str, Any]] = [
    {"chip": "thermometer", "celsius": 42.0},
    {"chip": "fan", "rpm": 2450},
    {"chip": "accelerometer", "gravity": [0.0, 0.0, 1.0]},
    {"chip": "proximity", "nearness": 20, "lux": 98},
]


def swapped(word: int) -> int:
    return int.from_bytes(word.to_bytes(2, "little"), "big", signed=True)


def shown_axes(registers: Mapping[int, int]) -> list[float]:
    raw = bytes(registers[0x80 | at] for at in range(0x28, 0x2E))
    return [(value >> 4) / 1000 for value in struct.unpack("<3h", raw)]


@given(st.floats(-128, 127.9))
def test_a_thermometer_shows_its_degrees(celsius: float) -> None:
    chip = sensors.thermometer(0x48, {"celsius": celsius})
    assert abs((swapped(chip.words[0]) >> 5) * 0.125 - celsius) <= 0.0625


def test_a_thermometer_register_by_register() -> None:
    chip = sensors.thermometer(0x48, {"celsius": 42.0})
    assert chip.words == {0: 0x002A, 2: 0x004B, 3: 0x0050}


@given(st.integers(83, 20_000))
def test_a_fan_shows_its_speed(rpm: int) -> None:
    registers = sensors.fan(0x4C, {"rpm": rpm}).bytes
    shown = 5_400_000 // ((registers[0x46] & 0xFC) | registers[0x47] << 8)
    assert shown == sensors.shown_rpm(rpm)
    assert abs(shown - rpm) <= 1 + rpm * rpm / 2_700_000


def test_a_standing_fan_stands() -> None:
    registers = sensors.fan(0x4C, {"rpm": 0}).bytes
    assert (registers[0x47], registers[0x46]) == (0xFF, 0xFC)
    assert sensors.shown_rpm(0) == 0
    assert sensors.shown_rpm(2450) == 2450


@given(st.tuples(*[st.floats(-2.047, 2.047)] * 3))
def test_an_accelerometer_shows_its_axes(gravity: tuple[float, float, float]) -> None:
    registers = sensors.accelerometer(0x18, {"gravity": gravity}).bytes
    assert shown_axes(registers) == pytest.approx(gravity, abs=0.00051)
    assert registers[0x8F] == 0x33
    assert all(registers[at] == registers[at | 0x80] for at in registers if at < 0x80)


@given(st.integers(0, 255), st.integers(0, 2006))
def test_a_proximity_sensor_shows_nearness_and_light(nearness: int, lux: int) -> None:
    """drivers/iio/light/isl29028.c: lux = count x 49 / 100 in the range of 2000 lux."""
    registers = sensors.proximity(0x44, {"nearness": nearness, "lux": lux}).bytes
    assert registers[0x08] == nearness
    assert ((registers[0x0A] & 0xF) << 8 | registers[0x09]) * 49 // 100 == lux


@pytest.mark.parametrize(
    "told",
    [
        {"chip": "thermometer", "celsius": 128.0},
        {"chip": "thermometer", "celsius": -129.0},
        {"chip": "fan", "rpm": 60},
        {"chip": "accelerometer", "gravity": [0, 2.1, 0]},
        {"chip": "proximity", "nearness": 256, "lux": 98},
        {"chip": "proximity", "nearness": 20, "lux": 2007},
    ],
)
def test_what_a_chip_cannot_show_is_refused(told: dict[str, Any]) -> None:
    with pytest.raises(ValueError, match="shows"):
        sensors.plan_chips([told])


def test_every_chip_has_its_own_address() -> None:
    planned = sensors.plan_chips([each for each in ONE_OF_EACH for _ in range(2)])
    addresses = [0x48, 0x49, 0x4C, 0x4D, 0x18, 0x19, 0x44, 0x45]
    assert [chip.address for chip in planned] == addresses
    assert sensors.bus_options(planned) == "chip_addr=0x48,0x49,0x4c,0x4d,0x18,0x19,0x44,0x45"


def test_the_bus_has_room_for_all_addresses() -> None:
    assert sum(len(addresses) for addresses, _ in sensors.KINDS.values()) <= 10


def test_one_sensor_too_many_is_refused() -> None:
    with pytest.raises(ValueError, match="one more accelerometer"):
        sensors.plan_chips([ONE_OF_EACH[2]] * 3)
