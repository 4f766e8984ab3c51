"""What an ordinary user sees of memory: udev's copy of the table, and what that cannot tell."""

import errno

import pytest

from closeout.model.memory import MemoryModule
from closeout.model.reading import Absent, Blank, Filler, Unreadable, Value
from closeout.readers.memory import READERS
from strategies.drawn_memory import (
    GIB,
    MEMINFO,
    SOUND,
    TABLE,
    TOTAL,
    drawn,
    memory_of,
    modules_of,
    read_section,
)
from strategies.drawn_tree import Content, DrawnTree

COPY = "run/udev/data/+dmi:id"
COPIED = (
    "I:24979401\nE:ID_MODEL=Fen 14\n"
    "E:MEMORY_ARRAY_LOCATION=System Board Or Motherboard\n"
    "E:MEMORY_DEVICE_0_TOTAL_WIDTH=64\nE:MEMORY_DEVICE_0_DATA_WIDTH=64\n"
    "E:MEMORY_DEVICE_0_SIZE=8589934592\nE:MEMORY_DEVICE_0_FORM_FACTOR=SODIMM\n"
    "E:MEMORY_DEVICE_0_LOCATOR=ChannelA-DIMM0\nE:MEMORY_DEVICE_0_TYPE=DDR4\n"
    "E:MEMORY_DEVICE_0_SPEED_MTS=3200\nE:MEMORY_DEVICE_0_MANUFACTURER=Orlune Memory\n"
    "E:MEMORY_DEVICE_0_SERIAL_NUMBER=9F31C0A7\nE:MEMORY_DEVICE_0_ASSET_TAG=9876543210\n"
    "E:MEMORY_DEVICE_0_PART_NUMBER=OM4-8G32S\nE:MEMORY_DEVICE_0_RANK=1\n"
    "E:MEMORY_DEVICE_0_CONFIGURED_SPEED_MTS=2933\nE:MEMORY_DEVICE_0_CONFIGURED_VOLTAGE=1\n"
    "E:MEMORY_DEVICE_1_PRESENT=0\nE:MEMORY_DEVICE_1_LOCATOR=ChannelB-DIMM0\n"
    "E:MEMORY_DEVICE_1_TYPE=Unknown\nE:MEMORY_DEVICE_1_SERIAL_NUMBER=Not Specified\n"
    "E:MEMORY_ARRAY_NUM_DEVICES=2\nV:1\n"
)
"""Of the same modules, as udev keeps it."""


def as_user(copy: Content | str = COPIED) -> DrawnTree:
    content = copy.encode() if isinstance(copy, str) else copy
    return DrawnTree(files={TABLE: errno.EACCES, MEMINFO: TOTAL, COPY: content})


def test_a_user_sees_the_modules_that_udev_copied() -> None:
    tree = as_user()
    module, empty = modules_of(tree)
    assert (module.place, module.label) == ("dmi:memory.0", "ChannelA-DIMM0")
    assert module.size_bytes == Value(value=8 * GIB, sources=(COPY,))
    assert module.serial == Value(value="9F31C0A7", sources=(COPY,))
    assert module.memory_type == Value(value="DDR4", sources=(COPY,))
    assert module.configured_speed_mts == Value(value=2933, sources=(COPY,))
    assert module.runs_slower == Value(value=True, sources=(COPY, COPY))
    assert isinstance(module.asset_tag, Filler)
    assert empty.fitted == Value(value=False, sources=(COPY,))
    assert isinstance(empty.serial, Blank)
    assert isinstance(empty.memory_type, Absent)


def test_table_and_copy_tell_the_same() -> None:
    for from_table, from_copy in zip(modules_of(drawn(*SOUND)), modules_of(as_user()), strict=True):
        assert from_copy.place == from_table.place
        for name in ("fitted", "size_bytes", "locator", "memory_type", "serial", "speed_mts"):
            one, other = getattr(from_table, name), getattr(from_copy, name)
            assert type(one) is type(other), name
            assert getattr(one, "value", None) == getattr(other, "value", None), name


def test_a_voltage_in_whole_volts_is_not_taken() -> None:
    voltage = modules_of(as_user())[0].configured_voltage_mv
    assert isinstance(voltage, Unreadable)
    assert voltage.advice == "run as root"


def test_a_user_is_told_what_the_copy_sums_up_to() -> None:
    memory = memory_of(as_user())
    assert memory.installed_bytes == Value(value=8 * GIB, sources=(COPY,))
    assert isinstance(memory.fitted_modules, Value)
    assert memory.fitted_modules.value == 1
    assert isinstance(memory.empty_slots, Value)
    assert memory.empty_slots.value == 1
    for reading in (memory.slots, memory.maximum_bytes, memory.error_correction, memory.channels):
        assert isinstance(reading, Unreadable)
        assert reading.advice == "run as root"


@pytest.mark.parametrize("word", ["Flash", "Unknown"])
def test_what_may_be_no_main_memory_is_not_summed_up(word: str) -> None:
    """The copy does not say which array a module belongs to: system firmware's flash is one."""
    memory = memory_of(as_user(COPIED.replace("TYPE=DDR4", f"TYPE={word}")))
    assert isinstance(memory.installed_bytes, Unreadable)
    assert isinstance(memory.fitted_modules, Unreadable)
    assert isinstance(memory.empty_slots, Unreadable)
    assert isinstance(memory.one_speed, Unreadable)


def test_a_type_that_udev_has_no_word_for_is_unread_and_counted() -> None:
    tree = as_user(COPIED.replace("TYPE=DDR4", "TYPE=<OUT OF SPEC>"))
    assert isinstance(modules_of(tree)[0].memory_type, Unreadable)
    assert isinstance(memory_of(tree).installed_bytes, Value)


def test_a_slot_of_which_the_copy_tells_nothing() -> None:
    tree = as_user(COPIED.replace("DEVICE_1", "DEVICE_2"))
    first, second, third = modules_of(tree)
    assert first.label == "ChannelA-DIMM0"
    assert isinstance(second.fitted, Unreadable)
    assert isinstance(third.fitted, Value)
    assert isinstance(memory_of(tree).fitted_modules, Unreadable)


@pytest.mark.parametrize("copy", [b"", b"E:ID_MODEL=Fen 14\n", errno.ENOENT, errno.EACCES])
def test_without_a_copy_a_user_is_told_to_run_as_root(copy: Content) -> None:
    tree = as_user(copy)
    listing = read_section(tree, "memory_module").listing
    assert isinstance(listing, Unreadable)
    assert (listing.advice, listing.sources) == ("run as root", (TABLE,))
    assert isinstance(memory_of(tree).installed_bytes, Unreadable)


def test_a_module_that_neither_lists() -> None:
    reader = next(reader for reader in READERS if reader.kind == "memory_module")
    found = reader.read(as_user(), "dmi:memory.7")
    assert isinstance(found, MemoryModule)
    assert isinstance(found.size_bytes, Absent)


def test_the_copy_is_not_asked_where_the_table_can_be_read() -> None:
    tree = drawn(*SOUND, **{COPY: b"E:MEMORY_DEVICE_0_SIZE=1\n"})
    assert modules_of(tree)[0].size_bytes == Value(value=8 * GIB, sources=(f"{TABLE}#17.0",))
    assert COPY not in tree.asked
