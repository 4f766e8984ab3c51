"""The resource table out of drawn units: root and user, no table, and legacy start."""

import errno

import pytest

from closeout.model.firmware_resource import FirmwareResource
from closeout.model.reading import Absent, Blank, Unreadable, Value
from closeout.readers.firmware_resource import find_firmware_resources, read_firmware_resource
from strategies.drawn_tree import Content, DrawnTree

ENTRIES = "sys/firmware/efi/esrt/entries"
ENTRY = f"{ENTRIES}/entry0"
FILES: dict[str, Content] = {
    "sys/firmware/efi/fw_platform_size": b"64\n",
    f"{ENTRY}/fw_class": b"3F6A8B40-91C2-4D57-A0E3-5B7C1D2E9F86\n",
    f"{ENTRY}/fw_type": b"1\n",
    f"{ENTRY}/fw_version": b"4294967295\n",
    f"{ENTRY}/lowest_supported_fw_version": b"65536\n",
    f"{ENTRY}/capsule_flags": b"0xfc\n",
    f"{ENTRY}/last_attempt_version": b"65544\n",
    f"{ENTRY}/last_attempt_status": b"6\n",
}


def read(**files: Content) -> FirmwareResource:
    return read_firmware_resource(DrawnTree(files={**FILES, **files}), ENTRY)


def test_an_entry() -> None:
    assert find_firmware_resources(DrawnTree(files=FILES)) == Value(
        value=(ENTRY,), sources=(ENTRIES,)
    )
    found = read()
    assert found.label == "entry0"
    assert found.firmware_class == Value(
        value="3f6a8b40-91c2-4d57-a0e3-5b7c1d2e9f86", sources=(f"{ENTRY}/fw_class",)
    )
    assert found.firmware_type == Value(value="System Firmware", sources=(f"{ENTRY}/fw_type",))
    assert found.version == Value(value=(1 << 32) - 1, sources=(f"{ENTRY}/fw_version",))
    assert isinstance(found.lowest_supported_version, Value)
    assert found.lowest_supported_version.value == 65536
    assert isinstance(found.last_attempt_version, Value)
    assert found.last_attempt_version.value == 65544
    path = f"{ENTRY}/last_attempt_status"
    assert found.last_attempt_status == Value(value="AC Not Connected", sources=(path,))


def test_words_that_are_not_defined() -> None:
    found = read(**{f"{ENTRY}/fw_type": b"0\n", f"{ENTRY}/last_attempt_status": b"99\n"})
    assert isinstance(found.firmware_type, Absent)
    assert isinstance(found.last_attempt_status, Unreadable)


def test_a_user_may_list_and_not_read() -> None:
    refused: dict[str, Content] = {path: errno.EACCES for path in FILES if path.startswith(ENTRY)}
    tree = DrawnTree(files={**FILES, **refused})
    assert isinstance(find_firmware_resources(tree), Value)
    found = read_firmware_resource(tree, ENTRY)
    for reading in (found.firmware_class, found.firmware_type, found.version):
        assert isinstance(reading, Unreadable)
        assert reading.advice == "run as root"


def test_a_number_that_is_none() -> None:
    found = read(**{f"{ENTRY}/fw_version": b"1.2\n", f"{ENTRY}/fw_class": b"\n"})
    assert isinstance(found.version, Unreadable)
    assert isinstance(found.firmware_class, Blank)


def test_uefi_without_a_table_has_none() -> None:
    tree = DrawnTree(files={"sys/firmware/efi/fw_platform_size": b"64\n"})
    assert find_firmware_resources(tree) == Value(value=(), sources=("sys/firmware/efi",))


def test_legacy_start_shows_none() -> None:
    tree = DrawnTree(folders=("sys/firmware/memmap", "sys/firmware/acpi"))
    assert isinstance(find_firmware_resources(tree), Absent)


@pytest.mark.parametrize(
    "files",
    [
        {ENTRIES: errno.EACCES},
        {"sys/firmware/efi/esrt": errno.EACCES, ENTRIES: errno.EACCES},
        {ENTRIES: errno.ENOENT, "sys/firmware/efi": errno.EACCES},
    ],
)
def test_a_listing_that_fails_is_not_empty(files: dict[str, Content]) -> None:
    tree = DrawnTree(files={**FILES, **files})
    assert isinstance(find_firmware_resources(tree), Unreadable | Absent)


def test_nothing_is_known_of_an_empty_root() -> None:
    assert isinstance(find_firmware_resources(DrawnTree()), Absent)
