"""What an eMMC tells of its health, and that an SD card tells nothing."""

import errno

import pytest

from closeout.model.reading import Absent, Unreadable, Value
from closeout.model.storage import Drive
from closeout.readers.storage import read_drive
from strategies.drawn_tree import Content, DrawnTree

CARD = "sys/devices/pci0000:00/0000:00:1a.0/mmc_host/mmc0/mmc0:0001"
DISK = f"{CARD}/block/mmcblk0"


def drive(kind: bytes = b"MMC\n", **files: Content) -> Drive:
    drawn: dict[str, Content] = {
        f"{CARD}/type": kind,
        f"{CARD}/life_time": b"0x01 0x02\n",
        f"{CARD}/pre_eol_info": b"0x01\n",
        **{f"{CARD}/{name}": content for name, content in files.items()},
    }
    return read_drive(DrawnTree(files=drawn, links={f"{DISK}/device": CARD}), DISK)


def test_a_healthy_one() -> None:
    found = drive()
    assert found.tells_health == Value(
        value=True, sources=(f"{DISK}/device/life_time", f"{DISK}/device/pre_eol_info")
    )
    assert isinstance(found.critical_warnings, Value)
    assert found.critical_warnings.value == ()
    assert found.percentage_used == Value(value=20, sources=(f"{DISK}/device/life_time",))
    assert isinstance(found.power_on_hours, Absent)


@pytest.mark.parametrize(
    ("life", "spare", "warnings"),
    [
        (b"0x03 0x01\n", b"0x02\n", ("80 % of its spare blocks are used up",)),
        (b"0x03 0x01\n", b"0x03\n", ("90 % of its spare blocks are used up",)),
        (b"0x0b 0x01\n", b"0x01\n", ("it is beyond its rated life",)),
        (
            b"0x01 0x0b\n",
            b"0x03\n",
            ("90 % of its spare blocks are used up", "it is beyond its rated life"),
        ),
        (b"0x0b 0x00\n", errno.EIO, ("it is beyond its rated life",)),
        (b"0x00 0x00\n", b"0x01\n", ()),
    ],
)
def test_what_it_warns_of(life: bytes, spare: Content, warnings: tuple[str, ...]) -> None:
    found = drive(life_time=life, pre_eol_info=spare).critical_warnings
    assert isinstance(found, Value)
    assert found.value == warnings


@pytest.mark.parametrize(
    ("life", "spare"),
    [
        (b"0x01 0x01\n", errno.EACCES),
        (b"0x01 0x01\n", b"0x09\n"),
        (errno.EACCES, b"0x01\n"),
        (b"0x0c 0x01\n", b"0x01\n"),
        (b"0x01\n", b"0x01\n"),
    ],
)
def test_what_could_not_be_read_is_no_pass(life: Content, spare: Content) -> None:
    found = drive(life_time=life, pre_eol_info=spare)
    assert isinstance(found.critical_warnings, Unreadable)
    assert isinstance(found.tells_health, Value)
    assert found.tells_health.value is True


def test_one_before_the_standard_told_it_tells_nothing() -> None:
    for files in (
        {"life_time": b"0x00 0x00\n", "pre_eol_info": b"0x00\n"},
        {"life_time": errno.ENOENT, "pre_eol_info": errno.ENOENT},
    ):
        found = drive(**files)  # type: ignore[arg-type]  # contents of files, not the kind
        assert isinstance(found.tells_health, Value)
        assert found.tells_health.value is False
        assert isinstance(found.critical_warnings, Absent)


def test_an_sd_card_has_no_such_report() -> None:
    found = drive(kind=b"SD\n")
    assert isinstance(found.tells_health, Value)
    assert found.tells_health.value is False
    assert isinstance(found.critical_warnings, Absent)
