"""What makes documents, taken off a stick into memory: what was built, whole, or nothing."""

import json
from pathlib import Path

import pytest

from closeout.media.stick.find import Volume
from closeout.media.stick.paper import MEMORY, NoPaper, take_paper
from media.played_programs import WHEELS
from strategies.drawn_tree import Content, DrawnTree
from strategies.folder_door import FolderDoor

STICK = Volume(device="sd11", volume_id="1A2B-3C4D", label="CLOSEOUT")
ENOUGH = DrawnTree(files={"proc/meminfo": f"MemAvailable: {MEMORY >> 10} kB\n".encode()})


class Unit:
    """A unit that was started from a stick, whose root names the wheels on it."""

    def __init__(self, folder: Path) -> None:
        self.door = FolderDoor(folder / "sticks")
        self.contents = folder / "contents.json"
        self.place = folder / "paper"
        self.paper = folder / "sticks" / STICK.volume_id / "paper"
        self.paper.mkdir(parents=True)
        for wheel, raw in WHEELS.items():
            (self.paper / wheel.file).write_bytes(raw)
        self.name([{"part": "paper", "file": w.file, "sha256": w.sha256} for w in WHEELS])

    def name(self, packages: object) -> None:
        """Writes the root's list."""
        self.contents.write_text(json.dumps({"packages": packages}))

    def take(self, tree: DrawnTree = ENOUGH) -> Path | NoPaper:
        """What is taken."""
        return take_paper(STICK, self.door, tree, self.contents, self.place)


@pytest.fixture
def unit(tmp_path: Path) -> Unit:
    return Unit(tmp_path)


def test_the_wheels_lie_where_python_finds_them(unit: Unit) -> None:
    assert unit.take() == unit.place
    for wheel in WHEELS:
        assert (unit.place / wheel.name / "__init__.py").is_file()
    assert unit.door.opened_for_writing == 0


def test_they_are_read_once(unit: Unit) -> None:
    unit.take()
    unit.door.sticks = []
    assert unit.take() == unit.place


@pytest.mark.parametrize("told", [[], [{"part": "boot"}], [{}], None, 5])
def test_a_root_built_without_them_says_nothing(unit: Unit, told: object) -> None:
    unit.name(told)
    assert unit.take() == NoPaper(why="")


@pytest.mark.parametrize("raw", [None, b"", b"[]", b"{", b"\xff"])
def test_a_root_without_a_list_says_nothing(unit: Unit, raw: bytes | None) -> None:
    unit.contents.unlink()
    if raw is not None:
        unit.contents.write_bytes(raw)
    assert unit.take() == NoPaper(why="")


def test_where_memory_is_short_it_is_left_out(unit: Unit) -> None:
    little = DrawnTree(files={"proc/meminfo": b"MemAvailable:  204800 kB\n"})
    assert unit.take(little) == NoPaper(why="200 MiB of memory are free, and it takes 400")
    assert not unit.place.exists()


@pytest.mark.parametrize("files", [{}, {"proc/meminfo": b"MemAvailable: much\n"}])
def test_a_kernel_that_does_not_tell_its_memory_is_tried(
    unit: Unit, files: dict[str, Content]
) -> None:
    assert unit.take(DrawnTree(files=files)) == unit.place


def test_another_wheel_than_was_built_is_not_taken(unit: Unit) -> None:
    (wheel, *_) = WHEELS
    (unit.paper / wheel.file).write_bytes(b"another")
    found = unit.take()
    assert found == NoPaper(why=f"paper/{wheel.file} on the stick is not what was built")
    assert not unit.place.exists()


def test_a_wheel_that_is_gone_or_a_stick_that_is(unit: Unit) -> None:
    (wheel, *_) = WHEELS
    (unit.paper / wheel.file).unlink()
    assert unit.take() == NoPaper(
        why="paper/ on the stick cannot be read: No such file or directory"
    )
    unit.door.sticks = []
    assert unit.take() == NoPaper(why="paper/ on the stick cannot be read: No such device")


def test_what_cannot_be_unpacked_leaves_nothing(unit: Unit) -> None:
    unit.place.with_name("paper.arriving").write_text("in the way")
    found = unit.take()
    assert isinstance(found, NoPaper)
    assert "cannot be unpacked in memory" in found.why
    assert not unit.place.exists()


def test_what_a_cut_left_is_unpacked_anew(unit: Unit) -> None:
    arriving = unit.place.with_name("paper.arriving")
    arriving.mkdir()
    (arriving / "half").write_text("half a library")
    assert unit.take() == unit.place
    assert not (unit.place / "half").exists()
