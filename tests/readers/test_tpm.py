"""TPMs out of drawn units: 2.0 and 1.2, announced ones without a driver, and what fails."""

import errno

import pytest

from closeout.model.device import Position
from closeout.model.reading import Absent, Reading, Unreadable, Value
from closeout.model.tpm import Tpm
from closeout.readers.tpm import find_tpms, read_tpm
from strategies.drawn_tree import Content, DrawnTree

CHIP = "sys/devices/platform/TPM0101:00"
PLACE = f"{CHIP}/tpm/tpm0"
TABLES = "sys/firmware/acpi/tables"
ZERO = b"0" * 64 + b"\n"
SOME = b"2ED93F199692DC6788EFA6A1FE74514AB9760B2A6CEEAEF6C808C13E4ABB0D42\n"
FILES: dict[str, Content] = {
    f"{PLACE}/tpm_version_major": b"2\n",
    f"{PLACE}/pcr-sha256/0": SOME,
    f"{PLACE}/pcr-sha256/7": SOME,
    f"{PLACE}/pcr-sha1/0": b"0" * 40 + b"\n",
    f"{PLACE}/pcr-sha1/7": b"0" * 40 + b"\n",
    f"{TABLES}/DSDT": errno.EACCES,
    f"{TABLES}/TPM2": errno.EACCES,
}
LINKS = {
    "sys/class/tpm/tpm0": PLACE,
    f"{PLACE}/device": CHIP,
    f"{CHIP}/driver": "sys/bus/acpi/drivers/drawn_tpm",
}
FOLDERS = ("sys/class/net", "sys/class/tpm")


def draw(**files: Content) -> DrawnTree:
    return DrawnTree(files={**FILES, **files}, links=LINKS, folders=FOLDERS)


def without_device(**files: Content) -> DrawnTree:
    return DrawnTree(files=files, folders=FOLDERS)


def only(tree: DrawnTree) -> Tpm:
    listing = find_tpms(tree)
    assert isinstance(listing, Value)
    (place,) = listing.value
    return read_tpm(tree, place)


def value_of(reading: Reading[object]) -> object:
    assert isinstance(reading, Value), reading
    return reading.value


def test_tpm_2() -> None:
    tree = draw()
    found = only(tree)
    assert (found.place, found.label, found.position) == (PLACE, "tpm0", Position.INTERNAL)
    assert value_of(found.present) is True
    assert value_of(found.announced) is True
    assert value_of(found.version_major) == 2
    assert value_of(found.driver) == "drawn_tpm"
    assert value_of(found.banks) == ("sha256", "sha1")
    assert value_of(found.pcr0_measured) is True
    assert value_of(found.pcr7_measured) is True
    assert not any(question.startswith("dev/") for question in tree.asked)
    assert not any(question == f"{TABLES}/TPM2" for question in tree.asked)


def test_registers_that_are_all_zero() -> None:
    found = only(draw(**{f"{PLACE}/pcr-sha256/0": ZERO}))
    assert value_of(found.pcr0_measured) is False
    assert value_of(found.pcr7_measured) is True


def test_one_bank_that_is_filled_is_enough() -> None:
    found = only(draw(**{f"{PLACE}/pcr-sha256/0": ZERO, f"{PLACE}/pcr-sha1/0": b"1" * 40 + b"\n"}))
    assert value_of(found.pcr0_measured) is True


@pytest.mark.parametrize("answer", [errno.EIO, errno.ETIMEDOUT, b"PCR\n", b"00\n"])
def test_a_bank_that_cannot_be_read_leaves_it_open(answer: Content) -> None:
    found = only(draw(**{f"{PLACE}/pcr-sha256/0": answer}))
    assert isinstance(found.pcr0_measured, Unreadable)
    assert value_of(found.pcr7_measured) is True


def test_tpm_1_2_has_one_list() -> None:
    pcrs = "PCR-00: " + "3A " * 20 + "\nPCR-07: " + "00 " * 20 + "\n"
    files: dict[str, Content] = {
        f"{PLACE}/tpm_version_major": b"1\n",
        f"{CHIP}/pcrs": pcrs.encode(),
        f"{TABLES}/TCPA": errno.EACCES,
    }
    found = only(DrawnTree(files=files, links=LINKS, folders=FOLDERS))
    assert value_of(found.version_major) == 1
    assert value_of(found.announced) is True
    assert isinstance(found.banks, Absent)
    assert value_of(found.pcr0_measured) is True
    assert value_of(found.pcr7_measured) is False


def test_a_list_without_the_register_is_not_understood() -> None:
    files: dict[str, Content] = {f"{PLACE}/tpm_version_major": b"1\n", f"{CHIP}/pcrs": b"none\n"}
    found = only(DrawnTree(files=files, links=LINKS, folders=FOLDERS))
    assert isinstance(found.pcr0_measured, Unreadable)


def test_what_is_in_it_cannot_be_listed() -> None:
    found = only(draw(**{PLACE: errno.EACCES}))
    assert isinstance(found.banks, Unreadable)
    assert isinstance(found.pcr0_measured, Unreadable)


@pytest.mark.parametrize("table", ["TPM2", "TCPA"])
def test_a_table_without_a_device_is_announced_and_not_present(table: str) -> None:
    found = only(without_device(**{f"{TABLES}/{table}": errno.EACCES}))
    assert (found.place, found.label) == (f"{TABLES}/{table}", f"ACPI table {table}")
    assert value_of(found.present) is False
    assert value_of(found.announced) is True
    assert isinstance(found.version_major, Absent)
    assert isinstance(found.driver, Absent)
    assert isinstance(found.pcr0_measured, Absent)


def test_neither_table_nor_device_is_no_tpm() -> None:
    tree = without_device(**{f"{TABLES}/DSDT": errno.EACCES})
    assert value_of(find_tpms(tree)) == ()


def test_tables_that_cannot_be_listed_leave_it_open() -> None:
    assert isinstance(find_tpms(without_device(**{TABLES: errno.EACCES})), Unreadable)


def test_a_device_without_tables_is_there() -> None:
    found = only(draw(**{TABLES: errno.EACCES}))
    assert value_of(found.present) is True
    assert isinstance(found.announced, Unreadable)


@pytest.mark.parametrize(("failure", "state"), [(errno.EACCES, Unreadable), (errno.ENOENT, Absent)])
def test_a_class_that_cannot_be_listed(failure: int, state: type) -> None:
    assert isinstance(find_tpms(DrawnTree(files={"sys/class/tpm": failure})), state)


def test_a_bank_of_tomorrow_comes_last() -> None:
    found = only(draw(**{f"{PLACE}/pcr-sha3-256/0": ZERO, f"{PLACE}/pcr-sha3-256/7": ZERO}))
    assert value_of(found.banks) == ("sha256", "sha1", "sha3-256")
