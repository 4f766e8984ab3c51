"""Reports offered to the stick again and again, until one has them."""

import errno
from io import BytesIO
from pathlib import Path

import pytest

from closeout.cli.guide_keeping import FOLLOWS, Keeping
from closeout.cli.surroundings import Surroundings
from closeout.decode.report_file import decode_report_file
from closeout.media.stick.paper import NoPaper
from strategies.folder_door import FolderDoor
from strategies.surroundings import NOON, Stream, Typed
from strategies.written_attempt import everything, write_demo

OWN, OTHER = "1A2B-3C4D", "5E6F-7A8B"


class Bench:
    """A place with reports, sticks, and what is typed and said."""

    def __init__(self, folder: Path) -> None:
        self.said = BytesIO()
        self.typed = Typed()
        self.door = FolderDoor(folder / "sticks")
        self.out = folder / "closeout-reports"
        self.document: bytes | NoPaper = NoPaper(why="")
        """What is made; none at all where the reason is empty."""
        self.keeping = Keeping(
            *(self.out, OWN, self._surroundings(folder), self.door),
            making=(self._makers, lambda *_: self.document),
        )

    def _makers(self, *_: object) -> tuple[Path, ...] | NoPaper:
        return NoPaper(why="") if self.document == NoPaper(why="") else (Path("/run/paper"),)

    def keep(self, typed: bytes = b"") -> str:
        """What is said when it is offered."""
        self.typed.seek(0)
        self.typed.truncate()
        self.typed.write(typed)
        self.typed.seek(0)
        begin = len(self.said.getvalue())
        self.keeping()
        self._stream.flush()
        return " ".join(self.said.getvalue()[begin:].decode().split())

    def _surroundings(self, folder: Path) -> Surroundings:
        self._stream = Stream(self.said, "utf-8", terminal=True)
        return Surroundings(
            stdin=self.typed,
            stdout=self._stream,
            stderr=self._stream,
            now=NOON.timestamp,
            folder=folder,
            machine=Path("/nowhere"),
        )


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path)


def test_a_report_is_kept_and_then_no_longer_offered(bench: Bench, tmp_path: Path) -> None:
    folder = write_demo(tmp_path)
    said = bench.keep()
    name = f"{folder.parent.name}-{folder.name}.zip"
    assert said == f"Kept on the stick {OWN}: reports/{name}"
    found = decode_report_file(bench.door.files()[name])
    files = {
        file.relative_to(bench.out).as_posix(): raw for file, raw in everything(folder).items()
    }
    assert {member.name: member.content for member in found.members} == files
    assert (bench.keep(), bench.keeping.pending()) == ("", ())


def test_the_document_lies_beside_the_report(bench: Bench, tmp_path: Path) -> None:
    folder = write_demo(tmp_path)
    bench.document = b"%PDF-"
    said = bench.keep()
    stem = f"{folder.parent.name}-{folder.name}"
    assert said.endswith(
        f"reports/{stem}.zip {FOLLOWS} Document for the ticket: reports/{stem}.pdf"
    )
    assert sorted(bench.door.files()) == [f"{stem}.pdf", f"{stem}.zip"]
    assert bench.door.files()[f"{stem}.pdf"] == b"%PDF-"
    assert bench.keep() == ""


def test_a_document_that_cannot_be_made_costs_the_report_nothing(
    bench: Bench, tmp_path: Path
) -> None:
    write_demo(tmp_path)
    bench.document = NoPaper(why="200 MiB of memory are free, and it takes 400")
    said = bench.keep()
    assert said.startswith(f"Kept on the stick {OWN}")
    assert "No document on the stick: 200 MiB of memory are free" in said
    assert "closeout report pdf makes it at a desk" in said
    assert (bench.keep(), bench.keeping.pending()) == ("", ())


def test_a_stick_pulled_before_the_document_was_there(bench: Bench, tmp_path: Path) -> None:
    write_demo(tmp_path)
    bench.document = b"%PDF-"
    bench.door.pulled_after = 2
    said = bench.keep()
    assert said.startswith(f"Kept on the stick {OWN}")
    assert "No document on the stick: it was pulled too early" in said
    assert (bench.keep(), bench.keeping.pending()) == ("", ())


def test_reports_are_kept_before_any_document(bench: Bench, tmp_path: Path) -> None:
    for _ in range(2):
        write_demo(tmp_path)
    bench.document = b"%PDF-"
    said = bench.keep()
    assert said.rindex("Kept on the stick") < said.index("Document for the ticket")


def test_no_document_of_a_report_that_is_not_kept(bench: Bench, tmp_path: Path) -> None:
    write_demo(tmp_path)
    bench.document = b"%PDF-"
    bench.door.errors[True] = errno.ENOSPC
    assert "ocument" not in bench.keep()


def test_what_was_kept_is_known_to_the_next_session(bench: Bench, tmp_path: Path) -> None:
    write_demo(tmp_path)
    bench.keep()
    assert Bench(tmp_path).keeping.pending() == ()


def test_without_a_stick_they_wait_and_come_in_their_order(bench: Bench, tmp_path: Path) -> None:
    bench.door.sticks = []
    folders = [write_demo(tmp_path), write_demo(tmp_path)]
    said = bench.keep()
    assert said.startswith("Not kept on a stick: 2 reports are in memory. The stick 1A2B-3C4D is")
    assert bench.keeping.pending() == tuple(folders)
    bench.door.sticks = [OWN]
    assert bench.keep().count("Kept on the stick") == 2
    assert len(bench.door.files()) == 2


@pytest.mark.parametrize(
    ("number", "told"), [(errno.ENOSPC, "is full"), (errno.EROFS, "takes no writing")]
)
def test_a_stick_that_takes_nothing_is_said_and_tried_again(
    bench: Bench, tmp_path: Path, number: int, told: str
) -> None:
    write_demo(tmp_path)
    bench.door.errors[True] = number
    said = bench.keep()
    assert told in said
    assert said.endswith("It is in memory.")
    bench.door.errors.clear()
    assert bench.keep().startswith("Kept")


def test_pulled_while_it_writes_and_put_in_again(bench: Bench, tmp_path: Path) -> None:
    write_demo(tmp_path)
    bench.door.pulled_after = 1
    assert "pulled too early: put it in again" in bench.keep()
    assert bench.keep().startswith("Not kept on a stick: 1 report is in memory.")
    bench.door.sticks = [OWN]
    assert bench.keep().startswith("Kept")


def test_another_stick_is_taken_only_after_a_yes(bench: Bench, tmp_path: Path) -> None:
    write_demo(tmp_path)
    bench.door.sticks = [OTHER]
    for typed in (b"no\n", b"\n", b""):
        said = bench.keep(typed)
        assert said.startswith(f"Another stick is in, {OTHER} and not {OWN}.")
        assert "Not kept on a stick" in said
        assert bench.door.files(OTHER) == {}
    assert f"Kept on the stick {OTHER}" in bench.keep(b"yes\n")
    write_demo(tmp_path)
    assert bench.keep().startswith("Kept")  # asked once
