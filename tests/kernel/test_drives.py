"""Questions to drives: which there are, of whom, and what they answer through a drawn kernel."""

import errno
import os
import stat
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.kernel import drives
from closeout.kernel.drive_commands import AtaCommand
from closeout.kernel.drives import ANSWERS, ask_drive, is_drive_question
from closeout.kernel.failure import ReadError, Reason
from closeout.kernel.folder import FolderTree, answer_name
from closeout.kernel.live import LiveTree
from closeout.kernel.question_names import (
    ATA_IDENTIFY,
    ATA_SMART,
    ATA_STATUS,
    ATA_THRESHOLDS,
    NVME_HEALTH,
    OPAL,
)
from strategies.drive_kernel import DrawnDrive, descriptor_sense

BLOCKS = {
    AtaCommand.IDENTIFY: b"\x01" * 512,
    AtaCommand.SMART_DATA: b"\x02" * 512,
    AtaCommand.SMART_THRESHOLDS: b"\x03" * 512,
}


@pytest.fixture
def unit(tmp_path: Path) -> Path:
    """A root with files where device nodes are; the test says that they are nodes."""
    (tmp_path / "dev").mkdir()
    for name in ("nvme0", "nvme0n1", "sda"):
        (tmp_path / "dev" / name).write_bytes(b"")
    return tmp_path


@pytest.fixture
def attach(monkeypatch: pytest.MonkeyPatch) -> Callable[[DrawnDrive], DrawnDrive]:
    """Puts a drawn drive behind every node."""

    def put(drive: DrawnDrive) -> DrawnDrive:
        real = {name: getattr(drives, name) for name in ("send_ata",)}
        monkeypatch.setattr(
            drives, "send_ata", lambda at, command: real["send_ata"](at, command, drive.ioctl)
        )
        monkeypatch.setattr(os, "fstat", lambda _: os.stat_result((stat.S_IFBLK, *[0] * 9)))
        return drive

    return put


def ask(unit: Path, question: str) -> bytes:
    return ask_drive(os.fsencode(unit), question)


def failure_of(unit: Path, question: str) -> ReadError:
    with pytest.raises(ReadError) as caught:
        ask(unit, question)
    assert caught.value.question == question
    return caught.value


@pytest.mark.parametrize(
    ("question", "answer"),
    [
        (f"{ATA_IDENTIFY} sda", b"\x01" * 512),
        (f"{ATA_SMART} sda", b"\x02" * 512),
        (f"{ATA_THRESHOLDS} sda", b"\x03" * 512),
        (f"{ATA_STATUS} sda", b"\x4f\xc2"),
    ],
)
def test_a_disk_is_asked_when_it_is_awake(
    unit: Path,
    attach: Callable[[DrawnDrive], DrawnDrive],
    question: str,
    answer: bytes,
) -> None:
    drive = attach(DrawnDrive(blocks=BLOCKS))
    assert ask(unit, question) == answer
    assert drive.sent[0] == AtaCommand.POWER_MODE.value
    assert len(drive.sent) == 2


@pytest.mark.parametrize("mode", [0x00, 0x01])
@pytest.mark.parametrize("words", [ATA_IDENTIFY, ATA_SMART, ATA_THRESHOLDS, ATA_STATUS])
def test_a_disk_that_sleeps_is_left_asleep(
    unit: Path, attach: Callable[[DrawnDrive], DrawnDrive], words: str, mode: int
) -> None:
    drive = attach(DrawnDrive(sense=descriptor_sense(count=mode, mid=0, high=0)))
    assert failure_of(unit, f"{words} sda").code == "ASLEEP"
    assert drive.sent == [AtaCommand.POWER_MODE.value]


def test_the_kernels_inner_errno_is_named(
    unit: Path, attach: Callable[[DrawnDrive], DrawnDrive]
) -> None:
    attach(DrawnDrive(raises=524))
    failure = failure_of(unit, f"{ATA_SMART} sda")
    assert (failure.number, failure.reason) == (errno.EOPNOTSUPP, Reason.KERNEL)


def test_a_refusal_keeps_its_errno(unit: Path, attach: Callable[[DrawnDrive], DrawnDrive]) -> None:
    attach(DrawnDrive(raises=errno.EPERM))
    assert failure_of(unit, f"{ATA_IDENTIFY} sda").code == "EPERM"


@pytest.mark.parametrize("question", [f"{NVME_HEALTH} nvme0", f"{OPAL} nvme0n1", f"{OPAL} sda"])
def test_what_is_no_device_is_not_asked(unit: Path, question: str) -> None:
    assert failure_of(unit, question).reason is Reason.NOT_OFFERED


def test_a_drive_that_is_not_there_is_absent(unit: Path) -> None:
    assert failure_of(unit, f"{ATA_SMART} sdz").code == "ENOENT"


@pytest.mark.parametrize(
    "question",
    [
        "nvme smart-log",
        "nvme smart-log nvme0n1",
        "nvme smart-log ../dev/nvme0",
        "nvme smart-log nvme0\n",
        "nvme format nvme0",
        "ata identify nvme0",
        "ata identify sda1",
        "ata smart sda/../mem",
        "ata write sda",
        "opal status mem",
        "ATA smart sda",
        " sda",
        "",
    ],
)
def test_no_other_question_reaches_a_drive(unit: Path, question: str) -> None:
    assert not is_drive_question(question)
    assert failure_of(unit, question).reason is Reason.NOT_OFFERED


@given(st.sampled_from(sorted(ANSWERS)), st.text(max_size=20))
def test_a_device_is_a_plain_name(words: str, name: str) -> None:
    if is_drive_question(f"{words} {name}"):
        assert name.isascii()
        assert name.isalnum()


def test_a_running_machine_is_asked_at_its_own_root(unit: Path) -> None:
    with pytest.raises(ReadError) as caught:
        LiveTree(str(unit)).ask(f"{NVME_HEALTH} nvme7")
    assert caught.value.code == "ENOENT"
    with pytest.raises(ReadError) as caught:
        LiveTree(str(unit)).ask("nvme format nvme0")
    assert caught.value.reason is Reason.NOT_OFFERED


def test_a_folder_answers_out_of_a_file(unit: Path) -> None:
    question = f"{ATA_STATUS} sda"
    (unit / "ask").mkdir()
    (unit / "ask" / answer_name(question)).write_bytes(b"\xf4\x2c")
    assert FolderTree(unit).ask(question) == b"\xf4\x2c"
    with pytest.raises(ReadError) as caught:
        FolderTree(unit).ask(f"{ATA_SMART} sda")
    assert caught.value.reason is Reason.NOT_OFFERED
