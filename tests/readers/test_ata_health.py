"""Health, lock and link of SATA drives; names are invented."""

import errno

import pytest

from closeout.kernel.failure import ReadError, Reason
from closeout.model.reading import Absent, Reading, Unreadable, Value
from closeout.model.storage import Drive
from closeout.readers.storage import read_drive
from strategies.drawn_tree import Content, DrawnTree
from strategies.drive_blocks import (
    identify_device,
    information_page,
    smart_block,
    threshold_block,
)
from strategies.shown import values_of

PORT = "sys/devices/pci0000:00/0000:00:17.0/ata1"
SCSI = f"{PORT}/host0/target0:0:0/0:0:0:0"
DISK = f"{SCSI}/block/sda"
SPEED = f"{PORT}/link1/ata_link/link1/sata_spd"
CAPABILITIES = f"{PORT}/host0/scsi_host/host0/ahci_host_caps"
IDENTIFY, SMART = "ata identify sda", "ata smart sda"
THRESHOLDS, STATUS, OPAL = "ata smart-thresholds sda", "ata smart-status sda", "opal status sda"

FILES: dict[str, Content] = {
    f"{DISK}/size": b"976773168\n",
    SPEED: b"6.0 Gbps\n",
    CAPABILITIES: b"c734ff05\n",
}
LINKS = {f"{DISK}/device": SCSI}
ENTRIES = (
    (5, 0x33, 100, 100, 3),
    (9, 0x32, 97, 97, 0x0012_0000_0B29),
    (12, 0x32, 99, 99, 840),
    (194, 0x22, 64, 52, 0x0030_0012_0024),
    (197, 0x12, 100, 100, 1),
    (198, 0x10, 100, 100, 2),
    (199, 0x3E, 200, 200, 17),
)
ANSWERS: dict[str, Content] = {
    IDENTIFY: identify_device(words={128: 0x0029}),
    SMART: smart_block(*ENTRIES),
    THRESHOLDS: threshold_block({5: 36, 9: 0, 194: 0, 197: 0, 199: 0}),
    STATUS: b"\x4f\xc2",
    OPAL: errno.EOPNOTSUPP,
}


def drive(
    files: dict[str, Content] | None = None, answers: dict[str, Content] | None = None
) -> Drive:
    return read_drive(
        DrawnTree(
            files={**FILES, **(files or {})}, links=LINKS, answers={**ANSWERS, **(answers or {})}
        ),
        DISK,
    )


def error_of(reading: Reading[object]) -> str:
    assert isinstance(reading, Unreadable)
    return reading.error


def test_a_healthy_drive_is_read_whole() -> None:
    shown = values_of(drive())
    assert {name: shown[name] for name in shown if name not in {"bus", "size_bytes"}} == {
        "tells_health": True,
        "critical_warnings": (),
        "reallocated_sectors": 3,
        "pending_sectors": 1,
        "uncorrectable_sectors": 2,
        "crc_errors": 17,
        "power_on_hours": 0x0B29,
        "power_cycles": 840,
        "temperature_millicelsius": 36_000,
        "security": ("supported", "frozen", "enhanced erase supported"),
        "locked": False,
        "link_speed": "6.0 Gbps",
        "link_speed_possible": "6.0 Gbps",
        "link_degraded": False,
    }


def test_a_drive_that_says_that_it_fails_is_believed() -> None:
    warnings = drive(answers={STATUS: b"\xf4\x2c"}).critical_warnings
    assert isinstance(warnings, Value)
    assert warnings.value == ("the drive's own status says that it is failing",)


def test_the_attribute_at_its_threshold_is_named_where_failure_follows_from_it() -> None:
    worn = smart_block((5, 0x33, 36, 36, 900), (9, 0x32, 1, 1, 9))
    answers: dict[str, Content] = {SMART: worn, THRESHOLDS: threshold_block({5: 36, 9: 1})}
    warnings = drive(answers=answers).critical_warnings
    assert isinstance(warnings, Value)
    assert warnings.value == ("attribute 5 is at its threshold",)
    assert warnings.sources == (STATUS, SMART, THRESHOLDS)


@pytest.mark.parametrize(
    ("answer", "error"), [(errno.EACCES, "EACCES"), (b"\0\0", "MALFORMED"), (errno.EIO, "EIO")]
)
def test_a_status_that_does_not_come_is_no_pass(answer: Content, error: str) -> None:
    assert error_of(drive(answers={STATUS: answer}).critical_warnings) == error


@pytest.mark.parametrize("question", [SMART, THRESHOLDS])
def test_the_status_stands_without_the_attributes(question: str) -> None:
    found = drive(answers={question: errno.EIO})
    assert found.critical_warnings == Value(value=(), sources=(STATUS,))
    if question == SMART:
        assert error_of(found.crc_errors) == "EIO"
        assert error_of(found.temperature_millicelsius) == "EIO"


def test_damaged_attributes_are_none() -> None:
    block = bytearray(smart_block(*ENTRIES))
    block[40] ^= 1
    assert error_of(drive(answers={SMART: bytes(block)}).reallocated_sectors) == "MALFORMED"


def test_a_drive_without_smart_tells_no_health_and_is_not_asked() -> None:
    tree = DrawnTree(
        files=FILES,
        links=LINKS,
        answers={**ANSWERS, IDENTIFY: identify_device(words={82: 0, 85: 0})},
    )
    found = read_drive(tree, DISK)
    assert isinstance(found.tells_health, Value)
    assert found.tells_health.value is False
    assert isinstance(found.critical_warnings, Absent)
    assert not any(question.startswith("ata smart") for question in tree.asked)


def test_smart_that_is_switched_off_stays_off_and_is_no_pass() -> None:
    found = drive(answers={IDENTIFY: identify_device(words={85: 0})})
    assert error_of(found.critical_warnings) == "SMART_OFF"
    assert error_of(found.crc_errors) == "SMART_OFF"


def test_an_attribute_that_the_drive_has_not_is_absent() -> None:
    found = drive(answers={SMART: smart_block((5, 0x33, 100, 100, 0))})
    assert isinstance(found.crc_errors, Absent)
    assert found.crc_errors.reason == "the drive has no attribute 199"
    assert isinstance(found.temperature_millicelsius, Absent)


@pytest.mark.parametrize(
    ("entries", "millicelsius"),
    [
        (((190, 0x22, 69, 69, 0x1F1F_0000_001F),), 31_000),
        (((194, 0x22, 0, 0, 0), (190, 0x22, 69, 69, 31)), 31_000),
        (((194, 0x22, 100, 100, 0xFB),), -5_000),
        (((194, 0x22, 100, 100, 0x7F),), None),
    ],
)
def test_the_temperature_is_the_low_byte(
    entries: tuple[tuple[int, int, int, int, int], ...], millicelsius: int | None
) -> None:
    found = drive(answers={SMART: smart_block(*entries)}).temperature_millicelsius
    assert (found.value if isinstance(found, Value) else None) == millicelsius


def test_page_89h_tells_everybody_who_the_drive_is() -> None:
    """An ordinary user learns of the lock and of SMART what the kernel has kept."""
    page = information_page(identify_device(words={128: 0x0007}))
    refused = dict.fromkeys((IDENTIFY, SMART, THRESHOLDS, STATUS, OPAL), errno.EACCES)
    found = drive({f"{SCSI}/vpd_pg89": page}, dict(refused))
    assert isinstance(found.tells_health, Value)
    assert found.locked == Value(value=True, sources=(f"{DISK}/device/vpd_pg89",))
    assert error_of(found.security) == "EACCES"
    assert error_of(found.critical_warnings) == "EACCES"


def test_an_answer_with_a_wrong_sum_is_not_believed() -> None:
    block = bytearray(identify_device())
    block[256] = 0x07
    found = drive(answers={IDENTIFY: bytes(block)})
    for reading in (found.tells_health, found.locked, found.link_speed_possible):
        assert error_of(reading) == "MALFORMED"


@pytest.mark.parametrize(
    ("word", "opal", "locked"),
    [
        (0x0007, errno.EOPNOTSUPP, True),
        (0x0000, b"\x0f\0\0\0\0\0\0\0", True),
        (0x0000, b"\x07\0\0\0\0\0\0\0", False),
        (0x0000, errno.EOPNOTSUPP, False),
        (0x0007, errno.EACCES, True),
    ],
)
def test_either_lock_locks(word: int, opal: Content, *, locked: bool) -> None:
    found = drive(answers={IDENTIFY: identify_device(words={128: word}), OPAL: opal}).locked
    assert isinstance(found, Value)
    assert found.value is locked


def test_a_lock_that_is_not_known_leaves_it_open() -> None:
    assert error_of(drive(answers={OPAL: errno.EACCES}).locked) == "EACCES"
    assert error_of(drive(answers={IDENTIFY: errno.EIO}).locked) == "EIO"
    untold = identify_device(words={128: 0xFFFF})
    found = drive(answers={IDENTIFY: untold})
    assert isinstance(found.locked, Absent)
    assert isinstance(found.security, Absent)
    other = drive(answers={IDENTIFY: untold, OPAL: b"\x0f\0\0\0\0\0\0\0"})
    assert isinstance(other.locked, Value)
    assert other.security == Value(
        value=(
            "self-encryption supported",
            "self-encryption locking supported",
            "self-encryption enabled",
            "self-encryption locked",
        ),
        sources=(OPAL,),
    )


def test_both_locks_are_told_together() -> None:
    found = drive(answers={OPAL: b"\x01\0\0\0\0\0\0\0"}).security
    assert isinstance(found, Value)
    assert found.value[-1] == "self-encryption supported"
    assert found.value[0] == "supported"
    assert (
        error_of(drive(answers={OPAL: b"\x01\0\0\0\0\0\0\0", IDENTIFY: errno.EIO}).security)
        == "EIO"
    )


def test_a_disk_that_sleeps_is_unreadable_with_advice() -> None:
    class Sleeping(DrawnTree):
        def ask(self, question: str) -> bytes:
            if question.startswith("ata "):
                raise ReadError(question, errno.EAGAIN, Reason.ASLEEP)
            return super().ask(question)

    warnings = read_drive(Sleeping(files=FILES, links=LINKS), DISK).critical_warnings
    assert isinstance(warnings, Unreadable)
    assert warnings.error == "ASLEEP"
    assert "left asleep" in warnings.advice


@pytest.mark.parametrize(
    ("speed", "capabilities", "degraded"),
    [
        (b"1.5 Gbps\n", b"c734ff05\n", True),
        (b"3.0 Gbps\n", b"c724ff05\n", False),
        (b"6.0 Gbps\n", b"c734ff05\n", False),
    ],
)
def test_a_link_that_lost_speed_is_degraded(
    speed: bytes, capabilities: bytes, *, degraded: bool
) -> None:
    found = drive({SPEED: speed, CAPABILITIES: capabilities}).link_degraded
    assert isinstance(found, Value)
    assert found.value is degraded


@pytest.mark.parametrize(
    ("changes", "error"),
    [
        ({SPEED: b"<unknown>\n"}, "UNKNOWN"),
        ({SPEED: b"fast\n"}, "MALFORMED"),
        ({CAPABILITIES: b"none\n"}, "MALFORMED"),
        ({CAPABILITIES: b"c704ff05\n"}, "MALFORMED"),
        ({CAPABILITIES: errno.EIO}, "EIO"),
    ],
)
def test_a_speed_that_is_not_known_is_not_judged(changes: dict[str, Content], error: str) -> None:
    assert error_of(drive(changes).link_degraded) == error


def test_a_drive_that_does_not_tell_its_speeds_is_not_judged() -> None:
    found = drive(answers={IDENTIFY: identify_device(words={76: 0})})
    assert isinstance(found.link_degraded, Absent)


def test_a_port_without_a_link_and_a_disk_without_a_port_show_none() -> None:
    files = {path: content for path, content in FILES.items() if path != SPEED}
    found = read_drive(DrawnTree(files=files, links=LINKS, answers=ANSWERS), DISK)
    assert found.link_speed == Absent(reason="the port shows no link", sources=(PORT,))
    udev: dict[str, Content] = {
        "sys/block/sda/dev": b"8:0\n",
        "run/udev/data/b8:0": b"E:ID_BUS=ata\n",
    }
    copied = read_drive(DrawnTree(files=udev, answers=ANSWERS), "sys/block/sda")
    for reading in (copied.link_speed, copied.link_speed_possible):
        assert reading == Absent(reason="the drive is on no ATA port", sources=("sys/block/sda",))
    assert copied.critical_warnings == drive().critical_warnings
