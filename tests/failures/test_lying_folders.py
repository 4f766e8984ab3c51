"""Folders that lie: links without end, names that attack, files that grow, devices that vanish.

The check ends, names what it could not read, and passes nothing for it.
"""

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import pytest

from closeout.check import ROUNDS
from closeout.kernel.capture import record_folder
from closeout.kernel.failure import ReadError
from closeout.kernel.folder import FolderTree
from closeout.kernel.limits import NAMES_LIMIT
from closeout.model.finding import Finding, Outcome
from closeout.model.report import Report
from strategies.laid_out import healthy
from strategies.runs import conditions, judge, record
from strategies.surroundings import call_in

PACKS = "sys/class/power_supply"
MILLION = 1_000_000


def judged(root: Path) -> Report:
    """The report of the folder."""
    return judge(record_folder(root, ROUNDS, conditions()))


def about(report: Report, rule: str) -> Finding:
    """The one finding of a rule."""
    (finding,) = (finding for finding in report.findings if finding.rule == rule)
    return finding


def checked(root: Path, tmp_path: Path) -> str:
    """What the command says of the folder, which must be no traceback."""
    told = call_in(tmp_path, "check", "--root", root, "--out", tmp_path / "reports")
    assert told.code in {0, 1, 3}, told.err
    assert "Traceback" not in told.err
    return told.out


def test_links_that_lead_in_circles(tmp_path: Path) -> None:
    root = healthy(tmp_path / "unit")
    supplies = root / PACKS
    for supply in list(supplies.iterdir()):
        supply.unlink()
        supply.symlink_to(supply.name)
    (root / "sys/class/drm").rename(root / "sys/class/drm-2")
    (root / "sys/class/drm").symlink_to("drm-3")
    (root / "sys/class/drm-3").symlink_to("drm")
    report = judged(root)
    assert about(report, "battery.presence").outcome is Outcome.UNREAD
    assert about(report, "display.presence").outcome is Outcome.UNREAD
    assert {each.error for each in report.unanswered} == {"ELOOP"}
    checked(root, tmp_path)


def test_a_folder_that_contains_itself(tmp_path: Path) -> None:
    """No reader walks a tree to its end, so depth costs nothing."""
    root = healthy(tmp_path / "unit")
    (root / "sys/devices/again").symlink_to("..")
    (root / "sys/class/again").symlink_to("../../sys")
    whole = judged(healthy(tmp_path / "plain"))
    assert judged(root).findings == whole.findings


def test_names_with_newlines_escapes_and_bytes_that_are_no_text(tmp_path: Path) -> None:
    root = healthy(tmp_path / "unit")
    for number, name in enumerate((b"BAT\n9", b"\x1b[2J", b"\xff\xfe", b"...", b"-", b" ")):
        folder = root / PACKS / os.fsdecode(name)
        folder.mkdir()
        (folder / "type").write_text("Battery\n")
        (folder / "serial_number").write_text(f"{number}\n")
    said = checked(root, tmp_path)
    assert "\x1b[2J" not in said
    pages = list((tmp_path / "reports").rglob("report.html"))
    assert pages
    assert "\x1b" not in pages[0].read_text("utf-8")


def test_a_file_that_never_ends(tmp_path: Path) -> None:
    """Larger than such a file can be: unread, and read no further."""
    root = healthy(tmp_path / "unit")
    with (root / "sys/class/dmi/id/product_serial").open("wb") as stream:
        stream.truncate(1 << 40)
    shutil.rmtree(root / "sys/firmware/dmi")
    serial = about(judged(root), "system.serial")
    assert serial.outcome is Outcome.UNREAD
    assert "TOO_LARGE" in serial.found


class GrowingTree(FolderTree):
    """Each read of a file finds it longer than the last."""

    reads = 0

    def read(self, path: str) -> bytes:
        """The content with a line more for every read so far."""
        self.reads += 1
        return super().read(path) + b"more\n" * self.reads


def test_files_that_grow_while_they_are_read(tmp_path: Path) -> None:
    """A number with more behind it is none."""
    root = healthy(tmp_path / "unit")
    report = judge(record(GrowingTree(root)))
    assert about(judged(root), "battery.health_percent").outcome is Outcome.PASS
    assert about(report, "battery.presence").outcome is not Outcome.PASS
    assert judge(record(GrowingTree(root))).findings == report.findings


class VanishingTree(FolderTree):
    """What was listed is gone when it is read: every device under one class."""

    def __init__(self, root: Path, gone: str) -> None:
        super().__init__(root)
        self._gone = gone

    def _refuse(self, path: str) -> None:
        if self._gone in path.split("/"):
            raise ReadError(path, 2)

    def ask(self, question: str) -> bytes:
        """Nor does it answer anything else."""
        if any(word.startswith(self._gone) for word in question.split()):
            raise ReadError(question, 2)
        return super().ask(question)

    def read(self, path: str) -> bytes:
        """ENOENT below the device."""
        self._refuse(path)
        return super().read(path)

    def names(self, folder: str) -> tuple[str, ...]:
        """Nothing to list either."""
        self._refuse(folder)
        return super().names(folder)

    def target(self, link: str) -> str:
        """The link is gone too."""
        self._refuse(link)
        return super().target(link)


@pytest.mark.parametrize(
    ("kind", "name"),
    [("battery", "BAT0"), ("drive", "nvme0"), ("wifi", "phy0"), ("bluetooth", "hci0")],
)
def test_a_device_that_vanishes_between_listing_and_reading(
    kind: str, name: str, tmp_path: Path
) -> None:
    root = healthy(tmp_path / "unit")
    whole = about(judged(root), f"{kind}.presence")
    assert whole.outcome is Outcome.PASS, f"{kind} is not in the unit, so nothing is shown"
    report = judge(record(VanishingTree(root, name)))
    assert about(report, f"{kind}.presence").outcome is Outcome.UNREAD


@pytest.fixture
def crowd() -> Iterator[Path]:
    """A folder with a million names, in memory."""
    memory = Path("/dev/shm")  # noqa: S108 - a million inodes on a disk take a minute
    room = Path(tempfile.mkdtemp(dir=memory if os.access(memory, os.W_OK) else None))
    first = room / "first"
    first.touch()
    with suppress(OSError):
        for number in range(MILLION - 1):
            os.link(first, f"{room}/{number}")
    yield room
    shutil.rmtree(room)


@pytest.mark.slow
def test_a_million_entries(crowd: Path) -> None:
    assert sum(1 for _ in os.scandir(crowd)) > NAMES_LIMIT
    with pytest.raises(ReadError) as refused:
        FolderTree(crowd).names("")
    assert refused.value.code == "TOO_LARGE"
