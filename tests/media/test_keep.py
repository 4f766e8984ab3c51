"""Reports put on a stick: new files, never over another, and called kept only when they are."""

import errno
import os
from pathlib import Path

import pytest

from closeout.media.stick.find import Volume
from closeout.media.stick.keep import MOST_NAMES, NotKept, keep_report
from strategies.folder_door import FolderDoor

STICK = Volume(device="sd11", volume_id="1A2B-3C4D", label="CLOSEOUT")
STEM = "T-1-attempt-0001-3fa2c1d9"


@pytest.fixture
def door(tmp_path: Path) -> FolderDoor:
    return FolderDoor(tmp_path)


def test_a_report_is_a_new_file(door: FolderDoor) -> None:
    assert keep_report(b"whole", STEM, STICK, door) == f"{STEM}.zip"
    assert door.files() == {f"{STEM}.zip": b"whole"}


def test_what_is_there_is_never_overwritten(door: FolderDoor) -> None:
    for number, raw in enumerate((b"one", b"two", b"three"), start=1):
        name = f"{STEM}.zip" if number == 1 else f"{STEM}-{number}.zip"
        assert keep_report(raw, STEM, STICK, door) == name
    assert [raw for _, raw in sorted(door.files().items())] == [b"two", b"three", b"one"]


def test_the_same_report_is_not_put_there_twice(door: FolderDoor) -> None:
    """After a session that ended between writing and saying so."""
    for _ in range(3):
        assert keep_report(b"whole", STEM, STICK, door) == f"{STEM}.zip"
    assert len(door.files()) == 1


def test_after_a_cut_the_next_free_name_is_taken(door: FolderDoor) -> None:
    keep_report(b"cut", STEM, STICK, door)
    assert keep_report(b"cut no longer", STEM, STICK, door) == f"{STEM}-2.zip"
    assert door.files()[f"{STEM}.zip"] == b"cut"


def test_names_are_not_without_end(door: FolderDoor) -> None:
    for number in range(MOST_NAMES):
        keep_report(str(number).encode(), STEM, STICK, door)
    kept = keep_report(b"one more", STEM, STICK, door)
    assert isinstance(kept, NotKept)
    assert len(door.files()) == MOST_NAMES


@pytest.mark.parametrize(
    ("number", "told"),
    [
        (errno.ENOSPC, "it is full"),
        (errno.EROFS, "takes no writing"),
        (errno.EACCES, "takes no writing"),
        (errno.EIO, "does not take what is written"),
        (errno.ENODEV, "pulled too early"),
        (errno.EINVAL, "its file system is damaged"),
        (errno.EUCLEAN, "its file system is damaged"),
        (errno.ENOTDIR, "is no folder"),
        (errno.EBUSY, "use another stick"),
    ],
)
@pytest.mark.parametrize("writable", [True, False])
def test_a_stick_that_does_not_take_it(
    door: FolderDoor, number: int, told: str, *, writable: bool
) -> None:
    door.errors[writable] = number
    kept = keep_report(b"whole", STEM, STICK, door)
    assert isinstance(kept, NotKept)
    assert told in kept.why
    assert "\n" not in kept.why


def test_a_stick_that_is_pulled_while_it_writes(door: FolderDoor) -> None:
    door.pulled_after = 1
    kept = keep_report(b"whole", STEM, STICK, door)
    assert kept == NotKept(why="it was pulled too early: put it in again")


def test_what_reads_back_different_is_not_kept(door: FolderDoor) -> None:
    door.spoils = True
    kept = keep_report(b"whole", STEM, STICK, door)
    assert isinstance(kept, NotKept)
    assert "reads back different" in kept.why


def test_tables_that_differ_are_not_written_to(door: FolderDoor) -> None:
    door.tables = "its two tables differ at cluster 7"
    kept = keep_report(b"whole", STEM, STICK, door)
    assert isinstance(kept, NotKept)
    assert door.opened_for_writing == 0


def test_what_could_not_be_written_whole_is_taken_away(
    door: FolderDoor, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A full stick keeps no piece of it, and what was there before."""
    keep_report(b"before", "T-0-attempt-0001-aa", STICK, door)

    def full(_handle: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", full)
        kept = keep_report(b"whole", STEM, STICK, door)
    assert isinstance(kept, NotKept)
    assert "it is full" in kept.why
    assert door.files() == {"T-0-attempt-0001-aa.zip": b"before"}


def test_a_file_that_cannot_be_read_is_another(door: FolderDoor) -> None:
    keep_report(b"whole", STEM, STICK, door)
    (door.folder / STICK.volume_id / "reports" / f"{STEM}.zip").unlink()
    (door.folder / STICK.volume_id / "reports" / f"{STEM}.zip").mkdir()
    assert keep_report(b"whole", STEM, STICK, door) == f"{STEM}-2.zip"
