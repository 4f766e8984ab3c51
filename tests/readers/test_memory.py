"""Memory out of drawn units, and of ten machines against dmidecode's text."""

import errno
from pathlib import Path

import pytest

from closeout.model.reading import Absent, Blank, Filler, Unreadable, Value
from oracles import dmidecode
from strategies import smbios
from strategies.drawn_memory import (
    EMPTY_B,
    GIB,
    MEMINFO,
    MODULE_A,
    SOUND,
    TABLE,
    TOTAL,
    drawn,
    memory_of,
    modules_of,
    read_section,
)
from strategies.drawn_tree import DrawnTree


def test_fitted_module() -> None:
    module = modules_of(drawn(*SOUND))[0]
    sources = (f"{TABLE}#17.0",)
    assert module.place == "dmi:memory.0"
    assert module.label == "ChannelA-DIMM0"
    assert module.fitted == Value(value=True, sources=sources)
    assert module.size_bytes == Value(value=8 * GIB, sources=sources)
    assert module.memory_type == Value(value="DDR4", sources=sources)
    assert module.form_factor == Value(value="SODIMM", sources=sources)
    assert module.manufacturer == Value(value="Orlune Memory", sources=sources)
    assert module.part_number == Value(value="OM4-8G32S", sources=sources)
    assert module.serial == Value(value="9F31C0A7", sources=sources)
    assert isinstance(module.asset_tag, Filler)
    assert module.speed_mts == Value(value=3200, sources=sources)
    assert module.configured_speed_mts == Value(value=2933, sources=sources)


def test_empty_socket_has_no_size() -> None:
    module = modules_of(drawn(*SOUND))[1]
    assert module.fitted == Value(value=False, sources=(f"{TABLE}#17.1",))
    assert isinstance(module.size_bytes, Absent)
    assert isinstance(module.memory_type, Absent)
    assert isinstance(module.speed_mts, Absent)
    assert isinstance(module.manufacturer, Blank)


def test_whole_memory() -> None:
    memory = memory_of(drawn(*SOUND))
    assert isinstance(memory.installed_bytes, Value)
    assert memory.installed_bytes.value == 8 * GIB
    assert isinstance(memory.fitted_modules, Value)
    assert memory.fitted_modules.value == 1
    assert memory.kernel_total_bytes == Value(value=7876543 * 1024, sources=(MEMINFO,))


def test_more_of_a_fitted_module() -> None:
    module, empty = modules_of(drawn(*SOUND))
    sources = (f"{TABLE}#17.0",)
    assert module.runs_slower == Value(value=True, sources=sources * 2)
    assert module.rank == Value(value=1, sources=sources)
    assert module.data_width_bits == Value(value=64, sources=sources)
    assert module.total_width_bits == Value(value=64, sources=sources)
    assert module.configured_voltage_mv == Value(value=1200, sources=sources)
    assert module.technology == Value(value="DRAM", sources=sources)
    assert isinstance(empty.runs_slower, Absent)
    assert isinstance(empty.data_width_bits, Absent)


@pytest.mark.parametrize(("configured", "slower"), [(3200, False), (2933, True), (3201, False)])
def test_slower_than_rated(configured: int, slower: bool) -> None:  # noqa: FBT001 - a case
    (module,) = modules_of(
        drawn(smbios.memory_device(configured_speed=configured), smbios.end_of_table())
    )
    assert isinstance(module.runs_slower, Value)
    assert module.runs_slower.value is slower


def test_sockets_of_the_array() -> None:
    memory = memory_of(drawn(*SOUND))
    sources = (f"{TABLE}#16.0",)
    assert memory.slots == Value(value=2, sources=sources)
    assert memory.maximum_bytes == Value(value=64 * GIB, sources=sources)
    assert memory.location == Value(value="System Board Or Motherboard", sources=sources)
    assert memory.error_correction == Value(value="None", sources=sources)
    assert isinstance(memory.empty_slots, Value)
    assert memory.empty_slots.value == 1
    assert isinstance(memory.one_speed, Value)
    assert memory.one_speed.value is True
    assert isinstance(memory.channels, Absent)


def test_extended_capacity() -> None:
    array = smbios.memory_array(capacity_kib=0x80000000, extended_bytes=4 << 40)
    memory = memory_of(drawn(array, MODULE_A, smbios.end_of_table()))
    assert isinstance(memory.maximum_bytes, Value)
    assert memory.maximum_bytes.value == 4 << 40


def test_two_arrays_are_summed_up_and_their_words_joined() -> None:
    corrected = smbios.build_structure(16, 40, b"\x03\x03\x06\x00\x00\x00\x01\xfe\xff\x04\x00")
    memory = memory_of(drawn(*SOUND[:-1], corrected, SOUND[-1]))
    assert isinstance(memory.slots, Value)
    assert memory.slots.value == 6
    assert isinstance(memory.maximum_bytes, Value)
    assert memory.maximum_bytes.value == 80 * GIB
    assert isinstance(memory.error_correction, Value)
    assert memory.error_correction.value == "None, Multi-bit ECC"
    assert isinstance(memory.location, Value)
    assert memory.location.value == "System Board Or Motherboard"


def test_an_array_that_does_not_tell_leaves_the_sum_open() -> None:
    short = smbios.build_structure(16, 40, b"\x03\x03\x02")
    memory = memory_of(drawn(*SOUND[:-1], short, SOUND[-1]))
    assert isinstance(memory.slots, Absent)
    assert isinstance(memory.maximum_bytes, Absent)
    assert isinstance(memory.error_correction, Absent)


def test_a_table_without_arrays_tells_no_sockets() -> None:
    memory = memory_of(drawn(MODULE_A, EMPTY_B, smbios.end_of_table()))
    assert isinstance(memory.slots, Absent)
    assert isinstance(memory.empty_slots, Value)
    assert memory.empty_slots.value == 1


def test_modules_of_two_speeds() -> None:
    slow = smbios.memory_device(handle=18, configured_speed=2666)
    memory = memory_of(drawn(smbios.memory_array(), MODULE_A, slow, smbios.end_of_table()))
    assert isinstance(memory.one_speed, Value)
    assert memory.one_speed.value is False


@pytest.mark.parametrize(
    "modules", [(EMPTY_B,), (MODULE_A, smbios.memory_device(configured_speed=0))]
)
def test_a_speed_that_nobody_tells_is_not_one(modules: tuple[bytes, ...]) -> None:
    memory = memory_of(drawn(smbios.memory_array(), *modules, smbios.end_of_table()))
    assert isinstance(memory.one_speed, Absent)


def test_channels_are_counted_where_they_are_listed() -> None:
    channel = smbios.build_structure(37, 50, b"\x03\x40\x01\x10\x11\x00")
    memory = memory_of(drawn(*SOUND[:-1], channel, channel, SOUND[-1]))
    assert isinstance(memory.channels, Value)
    assert memory.channels.value == 2


def test_unknown_size_leaves_the_sum_unknown() -> None:
    unknown = smbios.memory_device(size=0xFFFF)
    tree = drawn(MODULE_A, unknown, smbios.end_of_table())
    assert modules_of(tree)[1].fitted == Value(value=True, sources=(f"{TABLE}#17.1",))
    assert isinstance(memory_of(tree).installed_bytes, Absent)
    assert isinstance(memory_of(tree).fitted_modules, Value)


def test_flash_is_no_main_memory() -> None:
    flash_array = smbios.build_structure(16, 40, b"\x03\x05\x03\x00\x40\x00\x00\xfe\xff\x01\x00")
    flash = smbios.memory_device(array_handle=40, size=16, memory_type=9, locator="System ROM")
    tree = drawn(*SOUND[:-1], flash_array, flash, SOUND[-1])
    assert len(modules_of(tree)) == 3
    installed = memory_of(tree).installed_bytes
    assert isinstance(installed, Value)
    assert installed.value == 8 * GIB


def test_table_that_breaks_off_is_not_summed_up() -> None:
    memory = memory_of(drawn(MODULE_A, b"\x11\x02\x00\x00"))
    assert isinstance(memory.installed_bytes, Unreadable)
    assert isinstance(memory.fitted_modules, Unreadable)
    listing = read_section(drawn(smbios.memory_array(), b"\x11\x02\x00\x00"), "memory_module")
    assert isinstance(listing.listing, Unreadable)


def test_table_without_modules() -> None:
    tree = drawn(smbios.system(), smbios.end_of_table())
    assert read_section(tree, "memory_module").listing == Value(value=(), sources=(TABLE,))
    assert isinstance(memory_of(tree).installed_bytes, Absent)


@pytest.mark.parametrize(("failure", "state"), [(errno.EACCES, Unreadable), (errno.ENOENT, Absent)])
def test_table_that_cannot_be_read(failure: int, state: type) -> None:
    tree = DrawnTree(files={TABLE: failure, MEMINFO: TOTAL})
    assert isinstance(read_section(tree, "memory_module").listing, state)
    memory = memory_of(tree)
    assert isinstance(memory.installed_bytes, state)
    assert isinstance(memory.kernel_total_bytes, Value)


def test_user_is_told_to_run_as_root() -> None:
    listing = read_section(DrawnTree(files={TABLE: errno.EACCES}), "memory_module").listing
    assert isinstance(listing, Unreadable)
    assert listing.advice == "run as root"


def test_nothing_is_known_of_memory() -> None:
    assert isinstance(read_section(DrawnTree(), "main_memory").listing, Absent)


def test_meminfo_without_total_is_not_understood() -> None:
    memory = memory_of(drawn(*SOUND, **{MEMINFO: b"MemFree: 1 kB\n"}))
    assert isinstance(memory.kernel_total_bytes, Unreadable)


@pytest.mark.parametrize(
    "name",
    [
        "desktop-2014",
        "desktop-no-brand",
        "dual-socket-server",
        "mini-pc-2023",
        "notebook-2013",
        "notebook-2014",
        "notebook-2020",
        "thin-notebook-2018",
        "workstation-notebook-2010",
    ],
)
def test_machines_sum_up_as_dmidecode_prints(test_data: Path, name: str) -> None:
    raw = (test_data / "smbios" / f"{name}.dump").read_bytes()
    text = (test_data / "smbios" / f"{name}.txt").read_text(encoding="latin-1")
    printed = [found for found in dmidecode.parse_dmidecode(text) if found.type == 17]
    sizes = [found.texts["Size"] for found in printed]
    tree = DrawnTree(files={TABLE: raw[0x20:], MEMINFO: TOTAL})
    memory = memory_of(tree)
    fitted = [size for size in sizes if size != "No Module Installed"]
    assert isinstance(memory.installed_bytes, Value)
    assert memory.installed_bytes.value == sum(_bytes_of(size) for size in fitted)
    assert isinstance(memory.fitted_modules, Value)
    assert memory.fitted_modules.value == len(fitted)
    assert [module.label for module in modules_of(tree)] == [
        found.texts["Locator"] for found in printed
    ]


def test_broken_machine_has_no_sum(test_data: Path) -> None:
    raw = (test_data / "smbios" / "hypervisor-broken-end.dump").read_bytes()
    tree = DrawnTree(files={TABLE: raw[0x20:], MEMINFO: TOTAL})
    assert isinstance(read_section(tree, "memory_module").listing, Unreadable)
    assert isinstance(memory_of(tree).installed_bytes, Unreadable)


def _bytes_of(printed: str) -> int:
    amount, unit = printed.split()
    return int(amount) << {"MB": 20, "GB": 30, "TB": 40}[unit]


def test_structure_too_short_to_tell_a_size_is_not_counted() -> None:
    short = smbios.build_structure(17, 1, bytes(6))
    memory = memory_of(drawn(MODULE_A, short, smbios.end_of_table()))
    assert isinstance(memory.installed_bytes, Unreadable)
    assert isinstance(memory.fitted_modules, Unreadable)
