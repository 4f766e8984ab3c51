"""Health, lock and link of NVMe drives; names are invented."""

import errno

import pytest

from closeout.model.reading import Absent, Reading, Unreadable, Value
from closeout.model.storage import Drive
from closeout.readers.storage import read_drive
from strategies.drawn_tree import Content, DrawnTree
from strategies.drive_blocks import nvme_health_log
from strategies.shown import values_of

PORT = "sys/devices/pci0000:00/0000:00:1d.0"
CARD = f"{PORT}/0000:03:00.0"
NVME = f"{CARD}/nvme/nvme0"
LOG = "nvme smart-log nvme0"
OPAL = "opal status nvme0n1"

FILES: dict[str, Content] = {
    f"{NVME}/model": b"Norvik N9 Drive 512GB                   \n",
    f"{NVME}/nvme0n1/size": b"1000215216\n",
    f"{NVME}/hwmon2/temp1_input": b"41850\n",
    f"{CARD}/class": b"0x010802\n",
    f"{CARD}/current_link_speed": b"8.0 GT/s PCIe\n",
    f"{CARD}/max_link_speed": b"16.0 GT/s PCIe\n",
    f"{CARD}/current_link_width": b"4\n",
    f"{CARD}/max_link_width": b"4\n",
    f"{PORT}/max_link_speed": b"8.0 GT/s PCIe\n",
    f"{PORT}/max_link_width": b"4\n",
}
ANSWERS: dict[str, Content] = {
    LOG: nvme_health_log(used=7, hours=612, cycles=140, unsafe=9, temperature=314),
    OPAL: b"\x07\0\0\0\0\0\0\0",
}


def drive(
    files: dict[str, Content] | None = None, answers: dict[str, Content] | None = None
) -> Drive:
    tree = DrawnTree(files={**FILES, **(files or {})}, answers={**ANSWERS, **(answers or {})})
    return read_drive(tree, NVME)


def error_of(reading: Reading[object]) -> str:
    assert isinstance(reading, Unreadable)
    return reading.error


def test_a_healthy_drive_is_read_whole() -> None:
    shown = values_of(drive())
    identity = {"bus", "model", "size_bytes"}
    assert {name: told for name, told in shown.items() if name not in identity} == {
        "tells_health": True,
        "critical_warnings": (),
        "percentage_used": 7,
        "available_spare_percent": 100,
        "spare_threshold_percent": 10,
        "media_errors": 0,
        "power_on_hours": 612,
        "power_cycles": 140,
        "unsafe_shutdowns": 9,
        "temperature_millicelsius": 40_850,
        "security": ("supported", "locking supported", "enabled"),
        "locked": False,
        "link_speed": "8.0 GT/s PCIe",
        "link_speed_possible": "8.0 GT/s PCIe",
        "link_width": 4,
        "link_width_possible": 4,
        "link_degraded": False,
    }


def test_what_an_nvme_drive_does_not_count_is_absent() -> None:
    for reading in (drive().crc_errors, drive().reallocated_sectors):
        assert reading == Absent(reason="this kind of drive does not tell it", sources=(NVME,))


def test_a_warning_is_told_in_words() -> None:
    log = nvme_health_log(warning=0b1001)
    assert drive(answers={LOG: log}).critical_warnings == Value(
        value=("spare blocks below their threshold", "medium is read-only"), sources=(LOG,)
    )


@pytest.mark.parametrize(
    ("answer", "error"),
    [
        (errno.EACCES, "EACCES"),
        (errno.ENODEV, "ENODEV"),
        (bytes(512), "MALFORMED"),
        (b"\xff" * 512, "MALFORMED"),
        (b"short", "MALFORMED"),
    ],
)
def test_a_log_that_does_not_come_is_no_clean_one(answer: Content, error: str) -> None:
    found = drive(answers={LOG: answer})
    for reading in (found.critical_warnings, found.percentage_used, found.power_on_hours):
        assert error_of(reading) == error
        assert reading.sources == (LOG,)
    assert found.tells_health == Value(value=True, sources=(NVME,))


def test_the_temperature_is_for_everybody() -> None:
    found = drive(answers={LOG: errno.EACCES}).temperature_millicelsius
    assert found == Value(value=41_850, sources=(f"{NVME}/hwmon2/temp1_input",))
    without = drive(
        {f"{NVME}/hwmon2/temp1_input": errno.ENODATA}, {LOG: errno.EACCES}
    ).temperature_millicelsius
    assert error_of(without) == "EACCES"


def test_a_controller_without_sensor_or_figure_has_no_temperature() -> None:
    files = {path: content for path, content in FILES.items() if "hwmon" not in path}
    tree = DrawnTree(files=files, answers={LOG: nvme_health_log(temperature=0)})
    found = read_drive(tree, NVME).temperature_millicelsius
    assert isinstance(found, Absent)
    refused = DrawnTree(files={**files, NVME: errno.EIO}, answers={})
    assert isinstance(read_drive(refused, NVME).temperature_millicelsius, Unreadable)


@pytest.mark.parametrize("refused", [errno.EOPNOTSUPP, errno.ENOENT])
def test_a_drive_without_self_encryption_has_no_such_lock(refused: int) -> None:
    found = drive(answers={OPAL: refused})
    assert isinstance(found.security, Absent)
    assert isinstance(found.locked, Absent)


def test_a_lock_that_nobody_may_ask_for_is_unreadable() -> None:
    found = drive(answers={OPAL: errno.EACCES})
    assert (error_of(found.security), error_of(found.locked)) == ("EACCES", "EACCES")


def test_a_locked_drive_says_so() -> None:
    assert drive(answers={OPAL: b"\x0f\0\0\0\0\0\0\0"}).locked == Value(value=True, sources=(OPAL,))


def test_a_controller_without_namespace_cannot_be_asked_for_its_lock() -> None:
    files = {path: content for path, content in FILES.items() if "nvme0n1" not in path}
    tree = DrawnTree(files=files, folders=("sys/block",), answers=ANSWERS)
    assert isinstance(read_drive(tree, NVME).locked, Absent)
    refused = DrawnTree(files={**files, "sys/block": errno.EIO}, answers=ANSWERS)
    assert isinstance(read_drive(refused, NVME).locked, Unreadable)


def test_lost_lanes_are_a_degraded_link() -> None:
    assert drive({f"{CARD}/current_link_width": b"2\n"}).link_degraded == Value(
        value=True,
        sources=(
            f"{CARD}/current_link_width",
            f"{CARD}/max_link_width",
            f"{PORT}/max_link_width",
        ),
    )


def test_a_copy_without_links_shows_no_link() -> None:
    tree = DrawnTree(files={"sys/class/nvme/nvme0/model": b"Norvik N9\n"}, folders=("sys/block",))
    assert isinstance(read_drive(tree, "sys/class/nvme/nvme0").link_width, Absent)
