"""Memory out of drawn units, and of ten machines against dmidecode's text."""

import errno
from pathlib import Path

import pytest

from closeout.model.inventory import Section
from closeout.model.memory import MainMemory, MemoryModule
from closeout.model.reading import Absent, Blank, Filler, Unreadable, Value
from closeout.readers.memory import READERS
from oracles import dmidecode
from strategies import smbios
from strategies.drawn_tree import Content, DrawnTree

TABLE = "sys/firmware/dmi/tables/DMI"
MEMINFO = "proc/meminfo"
GIB = 1 << 30
MODULE_A = smbios.memory_device(
    locator="ChannelA-DIMM0",
    bank_locator="BANK 0",
    manufacturer="Orlune Memory",
    part_number="OM4-8G32S   ",
    serial="9F31C0A7",
    asset_tag="9876543210",
    configured_speed=2933,
)
EMPTY_B = smbios.memory_device(
    locator="ChannelB-DIMM0", size=0, widths=(0xFFFF, 0xFFFF), memory_type=2, speed=0
)
SOUND = (smbios.memory_array(), MODULE_A, EMPTY_B, smbios.end_of_table())
TOTAL = b"MemTotal:        7876543 kB\nMemFree:          123456 kB\n"


def drawn(*structures: bytes, **files: Content) -> DrawnTree:
    return DrawnTree(files={TABLE: smbios.build_table(structures), MEMINFO: TOTAL, **files})


def read_section(tree: DrawnTree, kind: str) -> Section:
    reader = next(reader for reader in READERS if reader.kind == kind)
    listing = reader.find(tree)
    places = listing.value if isinstance(listing, Value) else ()
    devices = tuple(reader.read(tree, place) for place in places)
    return Section(kind=kind, listing=listing, devices=devices)


def modules_of(tree: DrawnTree) -> list[MemoryModule]:
    devices = read_section(tree, "memory_module").devices
    return [device for device in devices if isinstance(device, MemoryModule)]


def memory_of(tree: DrawnTree) -> MainMemory:
    device = read_section(tree, "main_memory").devices[0]
    assert isinstance(device, MainMemory)
    return device


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
