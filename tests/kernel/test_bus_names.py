"""Names out of the tree's ids files: only the two asked for."""

import errno
import json
from pathlib import Path

import pytest

from closeout.kernel.bus_names import BusNames
from closeout.kernel.failure import ReadError, Reason
from closeout.kernel.folder import FolderTree
from strategies.drawn_tree import DrawnTree

IDS = b"# a list\n1af5  Norwel Systems\n\t0001  Slate Bridge\n\t0002  Slate Radio\n1af6  Other\n"


def failure_of(tree: DrawnTree, question: str) -> ReadError:
    with pytest.raises(ReadError) as caught:
        BusNames(tree.read).answer(question)
    assert caught.value.question == question
    return caught.value


@pytest.mark.parametrize(
    ("bus", "path"),
    [
        ("pci", "usr/share/misc/pci.ids"),
        ("pci", "usr/share/hwdata/pci.ids"),
        ("usb", "usr/share/misc/usb.ids"),
        ("usb", "usr/share/hwdata/usb.ids"),
        ("usb", "var/lib/usbutils/usb.ids"),
    ],
)
def test_a_folder_answers_with_the_two_names(tmp_path: Path, bus: str, path: str) -> None:
    (tmp_path / path).parent.mkdir(parents=True)
    (tmp_path / path).write_bytes(IDS)
    answer = FolderTree(tmp_path).ask(f"names {bus} 1af5:0002")
    assert json.loads(answer) == {"vendor": "Norwel Systems", "device": "Slate Radio"}


def test_an_answer_in_the_folder_goes_before_the_file(tmp_path: Path) -> None:
    (tmp_path / "ask").mkdir()
    (tmp_path / "ask/names%20pci%201af5%3A0002").write_bytes(b"{}")
    assert FolderTree(tmp_path).ask("names pci 1af5:0002") == b"{}"


def test_each_file_is_read_once() -> None:
    tree = DrawnTree(files={"usr/share/misc/pci.ids": IDS})
    names = BusNames(tree.read)
    assert json.loads(names.answer("names pci 1af5:0001"))["device"] == "Slate Bridge"
    assert json.loads(names.answer("names pci 1af6:0001")) == {"vendor": "Other"}
    assert tree.asked == ["usr/share/misc/pci.ids"]


def test_without_a_file_nothing_is_offered() -> None:
    assert failure_of(DrawnTree(), "names pci 1af5:0001").reason is Reason.NOT_OFFERED


def test_another_question_is_not_offered() -> None:
    tree = DrawnTree(files={"usr/share/misc/pci.ids": IDS})
    assert failure_of(tree, "names of friends").reason is Reason.NOT_OFFERED


def test_a_file_that_cannot_be_read_is_no_missing_file() -> None:
    tree = DrawnTree(files={"usr/share/misc/pci.ids": errno.EIO, "usr/share/hwdata/pci.ids": IDS})
    assert failure_of(tree, "names pci 1af5:0001").number == errno.EIO
