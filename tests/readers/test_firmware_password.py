"""Firmware passwords out of drawn units: table and class, and that no password is ever read."""

import errno

import pytest

from closeout.model.firmware_password import FirmwarePassword
from closeout.model.reading import Absent, Reading, Unreadable, Value
from closeout.readers.firmware_password import find_firmware_passwords, read_firmware_password
from strategies import smbios
from strategies.drawn_tree import Content, DrawnTree

TABLE = "sys/firmware/dmi/tables/DMI"
CLASS = "sys/class/firmware-attributes"
ADMIN = f"{CLASS}/drawn-wmi/authentication/Admin"
OPEN = smbios.hardware_security(0b00_10_01_10)
"""Power-on disabled, keyboard not implemented, administrator enabled."""
DRIVER: dict[str, Content] = {
    f"{ADMIN}/is_enabled": b"1\n",
    f"{ADMIN}/role": b"bios-admin\n",
    f"{ADMIN}/mechanism": b"password\n",
    f"{ADMIN}/current_password": errno.EACCES,
    f"{ADMIN}/new_password": errno.EACCES,
    f"{ADMIN}/certificate": b"SECRET\n",
    f"{CLASS}/drawn-wmi/attributes/pending_reboot": b"0\n",
}


def draw(*structures: bytes, **files: Content) -> DrawnTree:
    table = smbios.build_table([*structures, smbios.end_of_table()])
    return DrawnTree(files={TABLE: table, **files}, folders=("sys/class/net",))


def found_in(tree: DrawnTree) -> list[FirmwarePassword]:
    listing = find_firmware_passwords(tree)
    assert isinstance(listing, Value)
    return [read_firmware_password(tree, place) for place in listing.value]


def value_of(reading: Reading[object]) -> object:
    assert isinstance(reading, Value), reading
    return reading.value


def told_by(found: FirmwarePassword) -> tuple[object, ...]:
    return (value_of(found.role), value_of(found.enabled), value_of(found.mechanism))


def test_passwords_of_the_table_without_those_that_it_has_not() -> None:
    power_on, administrator = found_in(draw(OPEN))
    assert power_on.place == "dmi:hardware_security.0.power-on"
    assert power_on.label == "power-on password"
    assert told_by(power_on) == ("power-on", False, "password")
    assert told_by(administrator) == ("administrator", True, "password")
    assert administrator.enabled.sources == (f"{TABLE}#24.0",)


def test_a_status_that_is_not_known() -> None:
    found = found_in(draw(smbios.hardware_security(0b11_10_10_10)))
    assert [one.label for one in found] == ["power-on password"]
    assert isinstance(found[0].enabled, Absent)
    assert value_of(found[0].role) == "power-on"


def test_a_structure_without_its_byte() -> None:
    found = found_in(draw(smbios.build_structure(24, 1, b"")))
    assert len(found) == 3
    assert all(isinstance(one.enabled, Absent) for one in found)


def test_passwords_of_a_driver_come_first() -> None:
    first, *others = found_in(draw(OPEN, **DRIVER))
    assert (first.place, first.label) == (ADMIN, "Admin")
    assert told_by(first) == ("bios-admin", True, "password")
    assert len(others) == 2


def test_nothing_that_holds_or_takes_a_secret_is_asked_for() -> None:
    tree = draw(OPEN, **DRIVER)
    found_in(tree)
    names = {question.rpartition("/")[2] for question in tree.asked if ADMIN in question}
    assert names == {"role", "is_enabled", "mechanism"}


def test_a_user_sees_those_of_the_driver_alone() -> None:
    tree = DrawnTree(files={TABLE: errno.EACCES, **DRIVER}, folders=("sys/class/net",))
    assert [one.label for one in found_in(tree)] == ["Admin"]


def test_a_user_without_a_driver_is_not_told_that_there_are_none() -> None:
    tree = DrawnTree(files={TABLE: errno.EACCES}, folders=("sys/class/net",))
    listing = find_firmware_passwords(tree)
    assert isinstance(listing, Unreadable)
    assert listing.advice == "run as root"


def test_neither_tells_of_any() -> None:
    listing = find_firmware_passwords(draw(smbios.system()))
    assert isinstance(listing, Value)
    assert listing.value == ()


@pytest.mark.parametrize("path", [CLASS, f"{CLASS}/drawn-wmi/authentication"])
def test_a_class_that_cannot_be_listed_leaves_it_open(path: str) -> None:
    files: dict[str, Content] = {**DRIVER, path: errno.EACCES}
    assert isinstance(find_firmware_passwords(draw(smbios.system(), **files)), Unreadable)
    assert len(found_in(draw(OPEN, **files))) == 2


def test_a_driver_without_authentication_has_none() -> None:
    tree = draw(smbios.system(), **{f"{CLASS}/drawn-wmi/attributes/pending_reboot": b"0\n"})
    assert found_in(tree) == []


def test_a_table_that_breaks_off_may_hide_one() -> None:
    table = smbios.build_table([smbios.system(), b"\x11\x02\x00\x00"])
    tree = DrawnTree(files={TABLE: table}, folders=("sys/class/net",))
    assert isinstance(find_firmware_passwords(tree), Unreadable)


def test_nothing_is_known_of_an_empty_root() -> None:
    assert isinstance(find_firmware_passwords(DrawnTree()), Absent)


def test_a_flag_that_is_none() -> None:
    tree = draw(OPEN, **{**DRIVER, f"{ADMIN}/is_enabled": b"maybe\n", f"{ADMIN}/role": b"\n"})
    first = found_in(tree)[0]
    assert isinstance(first.enabled, Unreadable)


def test_a_place_of_no_known_role_is_no_structure() -> None:
    found = read_firmware_password(draw(OPEN), "dmi:hardware_security.0.other")
    assert isinstance(found.enabled, Absent)
