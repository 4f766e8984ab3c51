"""Types 16 and 17: worked sizes, sentinels, and what was built."""

import pytest
from hypothesis import given

from closeout.decode.smbios_fields import Field, Lack, Missing
from closeout.decode.smbios_memory import (
    MemoryDeviceRecord,
    decode_memory_array,
    decode_memory_device,
)
from closeout.decode.smbios_table import Structure, decode_table
from strategies import smbios

KIB, MIB, GIB = 1 << 10, 1 << 20, 1 << 30


def only(raw: bytes) -> Structure:
    return decode_table(raw + smbios.end_of_table()).structures[0]


def device(**fields: int) -> MemoryDeviceRecord:
    return decode_memory_device(only(smbios.memory_device(**fields)))  # type: ignore[arg-type]


def lack_of(field: Field[object]) -> Lack:
    assert isinstance(field, Missing), field
    return field.lack


@pytest.mark.parametrize(
    ("size", "extended", "expected"),
    [
        (0x8100, 0, 256 * KIB),
        (0x0100, 0, 256 * MIB),
        (0x8200, 0, 512 * KIB),
        (0x2000, 0, 8 * GIB),
        (0x7FFF, 0x8000, 32 * GIB),
        (0x7FFF, 0x20000, 128 * GIB),
        (0x7FFF, 0x80008000, 32 * GIB),
    ],
)
def test_worked_sizes(size: int, extended: int, expected: int) -> None:
    """The first two are the standard's own examples (7.18.4), the rest dmidecode's decodes.

    Bit 31 of the extended size is reserved and not part of it (7.18.5).
    """
    record = device(size=size, extended_size=extended)
    assert record.size_bytes == expected
    assert record.is_fitted is True


def test_empty_socket() -> None:
    record = device(size=0)
    assert lack_of(record.size_bytes) is Lack.NOT_THERE
    assert record.is_fitted is False


def test_unknown_size_of_a_fitted_module() -> None:
    record = device(size=0xFFFF)
    assert lack_of(record.size_bytes) is Lack.UNKNOWN
    assert record.is_fitted is True


def test_speeds() -> None:
    record = device(speed=5600, configured_speed=0)
    assert record.speed_mts == 5600
    assert lack_of(record.configured_speed_mts) is Lack.UNKNOWN


def test_extended_speeds() -> None:
    record = decode_memory_device(
        only(
            smbios.memory_device(
                speed=0xFFFF, configured_speed=0xFFFF, extended_speeds=(0x80011170, 0)
            )
        )
    )
    assert record.speed_mts == 70000
    assert lack_of(record.configured_speed_mts) is Lack.UNKNOWN


def test_extended_speed_beyond_a_short_structure() -> None:
    raw = smbios.memory_device(speed=0xFFFF)
    structure = only(smbios.build_structure(17, 1, raw[4:0x54]))
    assert lack_of(decode_memory_device(structure).speed_mts) is Lack.TOO_SHORT


def test_sentinels() -> None:
    record = decode_memory_device(
        only(
            smbios.memory_device(
                widths=(0xFFFF, 0),
                attributes=0xF0,
                millivolts=(0, 1350, 1100),
                memory_type=2,
                form_factor=0x7E,
            )
        )
    )
    assert lack_of(record.total_width) is Lack.UNKNOWN
    assert lack_of(record.width) is Lack.UNKNOWN
    assert lack_of(record.rank) is Lack.UNKNOWN
    assert lack_of(record.minimum_mv) is Lack.UNKNOWN
    assert (record.maximum_mv, record.configured_mv) == (1350, 1100)
    assert lack_of(record.memory_type) is Lack.UNKNOWN
    assert lack_of(record.form_factor) is Lack.UNDEFINED
    assert lack_of(record.error_handle) is Lack.NOT_THERE
    assert lack_of(record.device_set) is Lack.NOT_THERE
    assert lack_of(record.volatile_bytes) is Lack.UNKNOWN
    assert record.cache_bytes == 0


@pytest.mark.parametrize(
    ("capacity_kib", "extended", "expected"),
    [(0x1000000, 0, 16 * GIB), (0x80000000, 4 << 40, 4 << 40)],
)
def test_capacity(capacity_kib: int, extended: int, expected: int) -> None:
    """7.17: KiB, or 80000000h for the extended capacity in bytes."""
    raw = smbios.memory_array(capacity_kib=capacity_kib, extended_bytes=extended)
    assert decode_memory_array(only(raw)).capacity_bytes == expected


def test_array() -> None:
    record = decode_memory_array(only(smbios.memory_array(devices=4)))
    assert record.device_count == 4
    assert record.location == "System Board Or Motherboard"
    assert record.use == "System Memory"
    assert record.correction == "None"
    assert lack_of(record.error_handle) is Lack.NOT_THERE


@given(smbios.WORDS, smbios.DWORDS, smbios.WORDS, smbios.BYTES)
def test_built_device_comes_back(size: int, extended: int, speed: int, attributes: int) -> None:
    record = device(size=size, extended_size=extended, speed=speed, attributes=attributes)
    assert record.is_fitted is (size != 0)
    if 0 < size < 0x7FFF:
        assert record.size_bytes == size * MIB
    if size == 0x7FFF:
        assert record.size_bytes == (extended & 0x7FFFFFFF) * MIB
    if 0 < speed < 0xFFFF:
        assert record.speed_mts == speed
    if attributes & 0x0F:
        assert record.rank == attributes & 0x0F


def test_fields_of_version_3_7() -> None:
    """Behind the 92 bytes of 3.3; 0000h and FF00h mean unknown (7.18, from memory)."""
    body = smbios.memory_device()[4:92]
    told = body + bytes.fromhex("9b85 0102 2c80 0304")
    record = decode_memory_device(only(smbios.build_structure(17, 1, told)))
    assert record.power_controller_maker_id == 0x859B
    assert record.power_controller_revision == 0x0201
    assert record.clock_driver_maker_id == 0x802C
    assert record.clock_driver_revision == 0x0403
    untold = decode_memory_device(
        only(smbios.build_structure(17, 1, body + bytes.fromhex("0000 00ff 0000 00ff")))
    )
    assert lack_of(untold.power_controller_maker_id) is Lack.UNKNOWN
    assert lack_of(untold.power_controller_revision) is Lack.UNKNOWN
    assert lack_of(untold.clock_driver_maker_id) is Lack.UNKNOWN
    assert lack_of(untold.clock_driver_revision) is Lack.UNKNOWN
