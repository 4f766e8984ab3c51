"""Udev's copy of the memory: its words, and that it says what the table says."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.smbios_entry import decode_entry_point
from closeout.decode.smbios_fields import Field, Lack, Missing
from closeout.decode.smbios_memory import (
    MemoryDeviceRecord,
    decode_memory_device,
)
from closeout.decode.smbios_table import decode_table
from closeout.decode.udev_memory import decode_udev_memory
from oracles import dmi_memory_id
from strategies import smbios

GIB = 1 << 30
DUMPS = {
    "desktop-2014": (4, 56),
    "desktop-no-brand": (8, 56),
    "dual-socket-server": (6, 84),
    "mini-pc-2023": (2, 17),
    "notebook-2013": (4, 40),
    "notebook-2014": (2, 26),
    "notebook-2020": (2, 28),
    "thin-notebook-2018": (2, 28),
    "workstation-notebook-2010": (4, 28),
}
NUMBERS = ("size_bytes", "speed_mts", "configured_speed_mts", "rank", "width", "total_width")
TEXTS = ("locator", "bank_locator", "manufacturer", "serial", "asset_tag", "part_number")
WORDS = ("memory_type", "form_factor", "technology")
ABSENT = frozenset({Lack.NOT_THERE, Lack.UNKNOWN, Lack.NO_STRING, Lack.BAD_INDEX, Lack.TOO_SHORT})
KEYS = st.sampled_from(
    [
        *(
            f"MEMORY_DEVICE_{slot}_{name}"
            for slot in (0, 1, 3, 999)
            for name in ("PRESENT", "SIZE", "TYPE", "LOCATOR", "SPEED_MTS", "RANK")
        ),
    ]
)


def lack_of(field: Field[object]) -> Lack:
    assert isinstance(field, Missing), field
    return field.lack


def module_of(**told: str) -> MemoryDeviceRecord:
    properties = {f"MEMORY_DEVICE_0_{name}": value for name, value in told.items()}
    return decode_udev_memory(properties)[0]


def test_fitted_module() -> None:
    module = module_of(
        SIZE="8589934592", TYPE="DDR4", LOCATOR="SODIMM A", SPEED_MTS="3200", RANK="2"
    )
    assert module.is_fitted is True
    assert module.size_bytes == 8 * GIB
    assert module.memory_type == "DDR4"
    assert module.locator == "SODIMM A"
    assert module.speed_mts == 3200
    assert module.rank == 2
    assert lack_of(module.configured_speed_mts) is Lack.NOT_THERE


def test_empty_socket() -> None:
    module = module_of(PRESENT="0", TYPE="Unknown", SERIAL_NUMBER="Not Specified")
    assert module.is_fitted is False
    assert lack_of(module.size_bytes) is Lack.NOT_THERE
    assert lack_of(module.memory_type) is Lack.UNKNOWN
    assert lack_of(module.serial) is Lack.NO_STRING


def test_module_of_unknown_size_is_fitted() -> None:
    module = module_of(TYPE="DDR4")
    assert module.is_fitted is True
    assert lack_of(module.size_bytes) is Lack.NOT_THERE


@pytest.mark.parametrize(
    ("field", "module"),
    [
        ("memory_type", module_of(TYPE="<OUT OF SPEC>")),
        ("speed_mts", module_of(SPEED_MTS="65535")),
        ("speed_mts", module_of(SPEED_MTS="fast")),
        ("size_bytes", module_of(SIZE="-1")),
        ("configured_mv", module_of(CONFIGURED_VOLTAGE="1")),
    ],
)
def test_what_the_copy_cannot_tell_is_undefined(field: str, module: MemoryDeviceRecord) -> None:
    """FFFFh is a speed in another field, voltages are rounded, and new words are not known."""
    assert lack_of(getattr(module, field)) is Lack.UNDEFINED


def test_a_slot_that_is_left_out_is_not_known() -> None:
    properties = {"MEMORY_DEVICE_0_SIZE": "1024", "MEMORY_DEVICE_2_PRESENT": "0"}
    first, second, third = decode_udev_memory(properties)
    assert (first.is_fitted, third.is_fitted) == (True, False)
    assert lack_of(second.is_fitted) is Lack.UNDEFINED


def test_nothing_is_no_module() -> None:
    assert decode_udev_memory({"ID_MODEL": "Fen 14"}) == ()


@given(st.dictionaries(KEYS | st.text(max_size=30), st.text(max_size=20), max_size=8))
def test_any_properties_give_records(properties: dict[str, str]) -> None:
    memory = decode_udev_memory(properties)
    assert len(memory) <= 1000
    for module in memory:
        assert isinstance(module.size_bytes, Missing) or module.size_bytes >= 0


def compared(ours: MemoryDeviceRecord, theirs: MemoryDeviceRecord, names: tuple[str, ...]) -> int:
    """How many fields have the same value on both sides; one side alone may have none."""
    equal = 0
    for name in names:
        table: Field[object] = getattr(ours, name)
        copy: Field[object] = getattr(theirs, name)
        if isinstance(table, Missing):
            assert lack_of(copy) in ABSENT, name
            continue
        wanted = table.strip() if isinstance(table, str) else table
        if isinstance(copy, Missing):
            assert wanted in ("", 0), (name, wanted)
            continue
        assert copy == wanted, name
        equal += 1
    return equal


def check_dump(dump: Path) -> tuple[int, int]:
    """Holds udev's program against our decoder of the table; how many modules and fields agree."""
    raw = dump.read_bytes()
    entry = decode_entry_point(raw)
    table = decode_table(raw[entry.table_offset :], entry)
    memory = decode_udev_memory(dmi_memory_id.run_dmi_memory_id(dump))
    modules = [decode_memory_device(one) for one in table.of_type(17)]
    fields = 0
    for ours, theirs in zip(modules, memory, strict=True):
        assert theirs.is_fitted == ours.is_fitted
        names = (*NUMBERS, *TEXTS, *WORDS) if ours.is_fitted else TEXTS
        fields += compared(ours, theirs, names)
    return len(modules), fields


@pytest.mark.oracle
@pytest.mark.parametrize(("name", "counts"), DUMPS.items())
def test_udev_reads_the_table_as_we_do(test_data: Path, name: str, counts: tuple[int, int]) -> None:
    if reason := dmi_memory_id.reason_to_skip():
        pytest.skip(reason)
    assert check_dump(test_data / "smbios" / f"{name}.dump") == counts


@pytest.mark.oracle
def test_udev_reads_what_real_machines_do_not_have(tmp_path: Path) -> None:
    """Extended sizes and capacity, sizes in KiB, an unknown size, and an empty socket."""
    if reason := dmi_memory_id.reason_to_skip():
        pytest.skip(reason)
    texts = {"locator": "A", "bank_locator": "B", "manufacturer": "M", "serial": "S"}
    more = {"asset_tag": "T", "part_number": "P"}
    structures = [
        smbios.memory_array(capacity_kib=0x80000000, extended_bytes=1 << 42, devices=5),
        smbios.memory_device(size=0x7FFF, extended_size=0x20000, **texts, **more),
        smbios.memory_device(size=0x8200, attributes=4, **texts, **more),
        smbios.memory_device(size=0xFFFF, **texts, **more),
        smbios.memory_device(speed=1600, configured_speed=1333, **texts, **more),
        smbios.memory_device(size=0, memory_type=2, speed=0, **texts, **more),
        smbios.end_of_table(),
    ]
    dump = tmp_path / "built.dump"
    dump.write_bytes(smbios.build_dump((3, 3), smbios.build_table(structures)))
    assert check_dump(dump) == (5, 65)
