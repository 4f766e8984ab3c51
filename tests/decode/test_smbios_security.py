"""Type 24: every byte of statuses, and structures that are too short."""

import pytest
from hypothesis import given

from closeout.decode.smbios_fields import Field, Lack, Missing
from closeout.decode.smbios_security import decode_hardware_security
from closeout.decode.smbios_table import Structure, decode_table
from strategies import smbios

WORDS = ("Disabled", "Enabled", "Not Implemented", Lack.UNKNOWN)


def only(raw: bytes) -> Structure:
    return decode_table(raw + smbios.end_of_table()).structures[0]


def plain(field: Field[str]) -> str | Lack:
    return field.lack if isinstance(field, Missing) else field


@pytest.mark.parametrize(
    ("settings", "expected"),
    [
        (0b00_00_00_00, ("Disabled", "Disabled", "Disabled", "Disabled")),
        (0b01_10_00_11, ("Enabled", "Not Implemented", "Disabled", Lack.UNKNOWN)),
        (0b00_10_01_10, ("Disabled", "Not Implemented", "Enabled", "Not Implemented")),
    ],
)
def test_worked_statuses(settings: int, expected: tuple[object, ...]) -> None:
    """7.25.1: bits 7:6 power-on, 5:4 keyboard, 3:2 administrator, 1:0 front panel reset."""
    record = decode_hardware_security(only(smbios.hardware_security(settings)))
    found = (record.power_on, record.keyboard, record.administrator, record.front_panel_reset)
    assert tuple(map(plain, found)) == expected


@given(smbios.BYTES)
def test_built_statuses_come_back(settings: int) -> None:
    record = decode_hardware_security(only(smbios.hardware_security(settings)))
    found = (record.power_on, record.keyboard, record.administrator, record.front_panel_reset)
    numbers = [WORDS.index(plain(field)) for field in found]
    assert sum(number << bit for number, bit in zip(numbers, (6, 4, 2, 0), strict=True)) == settings


def test_structure_without_its_byte() -> None:
    record = decode_hardware_security(only(smbios.build_structure(24, 1, b"")))
    assert plain(record.power_on) is Lack.TOO_SHORT
    assert plain(record.front_panel_reset) is Lack.TOO_SHORT
