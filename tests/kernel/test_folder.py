"""A folder answers as the kernel would, leads nowhere else, and lies in vain."""

import errno
import os
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.kernel import limits, regular
from closeout.kernel.failure import ReadError, Reason
from closeout.kernel.folder import FolderTree, answer_name
from closeout.kernel.links import MOST_LINKS

BATTERY = "sys/class/power_supply/BAT0"
DEVICE = "sys/devices/LNXSYSTM:00/PNP0C0A:00/power_supply/BAT0"


@pytest.fixture
def root(tmp_path: Path) -> Path:
    """A unit with one battery, linked as sysfs links it, and a file beside the root."""
    unit = tmp_path / "unit"
    (unit / DEVICE).mkdir(parents=True)
    (unit / DEVICE / "status").write_bytes(b"Full\n")
    (unit / "sys/class/power_supply").mkdir(parents=True)
    (unit / BATTERY).symlink_to("../../devices/LNXSYSTM:00/PNP0C0A:00/power_supply/BAT0")
    (unit / DEVICE / "subsystem").symlink_to("../../../../../class/power_supply")
    (unit / DEVICE / "device").symlink_to("../../../PNP0C0A:00")
    (tmp_path / "outside").write_bytes(b"not the unit's")
    return unit


def code_of(question: Callable[[], object]) -> str:
    with pytest.raises(ReadError) as caught:
        question()
    return caught.value.code


def test_reads_through_links(root: Path) -> None:
    assert FolderTree(root).read(f"{BATTERY}/status") == b"Full\n"


def test_lists_through_links_sorted(root: Path) -> None:
    assert FolderTree(root).names(BATTERY) == ("device", "status", "subsystem")
    assert FolderTree(root).names("") == ("sys",)


def test_link_leads_to_a_path_from_the_root(root: Path) -> None:
    tree = FolderTree(root)
    assert tree.target(BATTERY) == DEVICE
    assert tree.target(f"{BATTERY}/subsystem") == "sys/class/power_supply"
    assert tree.target(f"{BATTERY}/device") == "sys/devices/LNXSYSTM:00/PNP0C0A:00"


def test_a_relative_root_stays_where_it_was(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(root.parent)
    tree = FolderTree("unit")
    monkeypatch.chdir("/")
    assert tree.read(f"{DEVICE}/status") == b"Full\n"


def test_absolute_link_starts_at_the_root(root: Path) -> None:
    (root / "sys/absolute").symlink_to(f"/{DEVICE}")
    tree = FolderTree(root)
    assert tree.target("sys/absolute") == DEVICE
    assert tree.read("sys/absolute/status") == b"Full\n"


@pytest.mark.parametrize("leads", ["../../../../outside", "/../outside", "..//.././../outside"])
def test_no_link_leads_out(root: Path, leads: str) -> None:
    (root / "sys/escape").symlink_to(leads)
    tree = FolderTree(root)
    assert code_of(lambda: tree.read("sys/escape")) == "ENOENT"
    assert tree.target("sys/escape") == "outside"


def test_no_folder_link_leads_out(root: Path) -> None:
    (root / "sys/up").symlink_to("../..")
    tree = FolderTree(root)
    assert tree.names("sys/up") == ("sys",)
    assert code_of(lambda: tree.read("sys/up/outside")) == "ENOENT"


@pytest.mark.parametrize("path", ["../outside", "sys/../../outside", "/etc/passwd", "a\0b"])
def test_no_path_leads_out(root: Path, path: str) -> None:
    tree = FolderTree(root)
    for question in (tree.read, tree.names, tree.target):
        assert code_of(lambda question=question: question(path)) == "EINVAL"


def test_half_a_surrogate_pair_is_no_path(root: Path) -> None:
    assert code_of(lambda: FolderTree(root).read("\ud800")) == "EILSEQ"


def test_link_loops_end(root: Path) -> None:
    (root / "sys/a").symlink_to("b")
    (root / "sys/b").symlink_to("a")
    (root / "sys/self").symlink_to("self/self")
    tree = FolderTree(root)
    assert code_of(lambda: tree.read("sys/a")) == "ELOOP"
    assert code_of(lambda: tree.names("sys/a/deeper")) == "ELOOP"
    assert code_of(lambda: tree.read("sys/self/x")) == "ELOOP"
    assert tree.target("sys/a") == "sys/b"


def test_links_that_double_at_each_step_end(root: Path) -> None:
    (root / "sys/d0").mkdir()
    for step in range(1, 40):
        (root / f"sys/d{step}").symlink_to(f"d{step - 1}/../d{step - 1}")
    assert code_of(lambda: FolderTree(root).names("sys/d39")) == "ELOOP"


def test_as_many_links_as_the_kernel_follows(root: Path) -> None:
    (root / "sys/l0").write_bytes(b"end")
    for step in range(1, MOST_LINKS + 2):
        (root / f"sys/l{step}").symlink_to(f"l{step - 1}")
    tree = FolderTree(root)
    assert tree.read(f"sys/l{MOST_LINKS}") == b"end"
    assert code_of(lambda: tree.read(f"sys/l{MOST_LINKS + 1}")) == "ELOOP"


def test_what_is_no_link_has_no_target(root: Path) -> None:
    tree = FolderTree(root)
    assert code_of(lambda: tree.target(f"{DEVICE}/status")) == "EINVAL"
    assert code_of(lambda: tree.target(f"{DEVICE}/nothing")) == "ENOENT"


def test_link_to_nothing_has_a_target(root: Path) -> None:
    (root / "sys/gone").symlink_to("../dev/gone")
    tree = FolderTree(root)
    assert tree.target("sys/gone") == "dev/gone"
    assert code_of(lambda: tree.read("sys/gone")) == "ENOENT"


def test_link_to_its_own_folder(root: Path) -> None:
    (root / "sys/here").symlink_to(".")
    tree = FolderTree(root)
    assert tree.target("sys/here") == "sys"
    assert tree.names("sys/here/here") == tree.names("sys")


def test_a_deep_path_is_one_failure(root: Path) -> None:
    assert code_of(lambda: FolderTree(root).read("/".join(["sys"] * 1500))) in {
        "ENOENT",
        "ENAMETOOLONG",
    }


def test_errors_are_the_kernels(root: Path) -> None:
    tree = FolderTree(root)
    assert code_of(lambda: tree.read("sys/nothing")) == "ENOENT"
    assert code_of(lambda: tree.read("sys")) == "EISDIR"
    assert code_of(lambda: tree.read("")) == "EISDIR"
    assert code_of(lambda: tree.names(f"{DEVICE}/status")) == "ENOTDIR"
    assert code_of(lambda: tree.read(f"{DEVICE}/status/x")) == "ENOTDIR"
    assert code_of(lambda: tree.read("x" * 300)) == "ENAMETOOLONG"


def test_failure_of_the_system_call_is_the_answer(root: Path, pretend: Callable[..., None]) -> None:
    def refuse(*_: object, **__: object) -> object:
        raise PermissionError(errno.EACCES, "refused")

    tree = FolderTree(root)
    pretend(regular, "os", open=refuse, scandir=refuse)
    assert code_of(lambda: tree.read(f"{DEVICE}/status")) == "EACCES"
    assert code_of(lambda: tree.names(DEVICE)) == "EACCES"


@pytest.mark.parametrize("make", [os.mkfifo, lambda place: os.mknod(place, 0o140600)])
def test_only_regular_files_are_opened(root: Path, make: Callable[[Path], None]) -> None:
    make(root / "sys/special")
    (root / "sys/linked").symlink_to("special")
    tree = FolderTree(root)
    assert code_of(lambda: tree.read("sys/special")) == "NOT_OFFERED"
    assert code_of(lambda: tree.read("sys/linked")) == "NOT_OFFERED"


def test_a_missing_or_empty_root_is_no_empty_machine(tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    assert code_of(lambda: FolderTree(tmp_path / "empty").names("")) == "ENOENT"
    assert code_of(lambda: FolderTree(tmp_path / "missing").names("")) == "ENOENT"
    assert code_of(lambda: FolderTree(tmp_path / "missing").names("sys/class/nvme")) == "ENOENT"


def test_an_empty_class_is_empty(root: Path) -> None:
    (root / "sys/class/nvme").mkdir()
    assert FolderTree(root).names("sys/class/nvme") == ()


def test_names_no_text_can_hold_come_through(root: Path) -> None:
    folder = os.fsencode(root / "sys/odd")
    os.mkdir(folder)  # noqa: PTH102 - Path takes no bytes
    for name in (b"new\nline", b"\xff\xfe", b"\xc3\xa9"):
        with open(folder + b"/" + name, "wb") as file:  # noqa: PTH123 - Path takes no bytes
            file.write(name)
    tree = FolderTree(root)
    names = tree.names("sys/odd")
    assert names == ("new\nline", "é", "\udcff\udcfe")
    assert [tree.read(f"sys/odd/{name}") for name in names] == [
        b"new\nline",
        b"\xc3\xa9",
        b"\xff\xfe",
    ]


def test_a_listing_has_a_limit(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(regular, "NAMES_LIMIT", 3)
    tree = FolderTree(root)
    assert len(tree.names(DEVICE)) == 3
    (root / DEVICE / "one_more").touch()
    assert code_of(lambda: tree.names(DEVICE)) == "TOO_LARGE"
    monkeypatch.setattr(regular, "NAMES_LIMIT", 100)
    monkeypatch.setattr(regular, "NAMES_BYTES", 20)
    assert code_of(lambda: tree.names(DEVICE)) == "TOO_LARGE"


def test_a_file_has_a_limit_and_is_never_cut(root: Path) -> None:
    limit = limits.FILE_LIMIT
    tree = FolderTree(root)
    (root / "sys/large").write_bytes(b"x" * limit)
    assert len(tree.read("sys/large")) == limit
    with (root / "sys/large").open("ab") as file:
        file.write(b"x")
    assert code_of(lambda: tree.read("sys/large")) == "TOO_LARGE"


@pytest.mark.parametrize(
    "path",
    [
        "sys/firmware/acpi/tables/SSDT1",
        "sys/firmware/dmi/tables/DMI",
        "usr/share/misc/pci.ids",
        "var/lib/usbutils/usb.ids",
    ],
)
def test_tables_and_lists_may_be_larger(root: Path, path: str) -> None:
    (root / path).parent.mkdir(parents=True)
    (root / path).write_bytes(b"x" * (limits.FILE_LIMIT + 1))
    assert len(FolderTree(root).read(path)) == limits.FILE_LIMIT + 1


def test_a_file_that_grows_while_it_is_read_ends(root: Path, pretend: Callable[..., None]) -> None:
    status = root / DEVICE / "status"

    def read_and_grow(descriptor: int, size: int) -> bytes:
        with status.open("ab") as file:
            file.write(b"x" * regular.CHUNK)
        return os.read(descriptor, size)

    pretend(regular, "os", read=read_and_grow)
    assert code_of(lambda: FolderTree(root).read(f"{DEVICE}/status")) == "TOO_LARGE"


def test_what_vanishes_between_listing_and_reading_is_gone(root: Path) -> None:
    tree = FolderTree(root)
    assert "status" in tree.names(DEVICE)
    (root / DEVICE / "status").unlink()
    assert code_of(lambda: tree.read(f"{DEVICE}/status")) == "ENOENT"


def test_what_is_replaced_before_it_is_opened_is_not_read(
    root: Path, pretend: Callable[..., None]
) -> None:
    place = root / "sys/special"
    os.mkfifo(place)
    pretend(regular, "os", stat=lambda _: (root / DEVICE / "status").stat())
    assert code_of(lambda: FolderTree(root).read("sys/special")) == "NOT_OFFERED"


@given(question=st.text(max_size=40), other=st.text(max_size=40))
def test_answer_names_are_safe_and_distinct(question: str, other: str) -> None:
    name = answer_name(question)
    assert set(name) <= set("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-%")
    assert (name == answer_name(other)) == (question == other)


def test_answers_lie_under_ask(root: Path) -> None:
    assert answer_name("psutil sensors_battery") == "psutil%20sensors_battery"
    (root / "ask").mkdir()
    (root / "ask/psutil%20sensors_battery").write_bytes(b"null")
    (root / "ask/a%2Fb").write_bytes(b"a slash")
    tree = FolderTree(root)
    assert tree.ask("psutil sensors_battery") == b"null"
    assert tree.ask("a/b") == b"a slash"


@pytest.mark.parametrize("question", ["psutil sensors_battery", "", "..", "x" * 300])
def test_a_question_no_file_answers_is_not_offered(root: Path, question: str) -> None:
    for tree in (FolderTree(root), FolderTree(root / "missing")):
        with pytest.raises(ReadError) as caught:
            tree.ask(question)
        assert caught.value.reason is Reason.NOT_OFFERED
        assert caught.value.question == question


def test_an_answer_that_cannot_be_read_fails_as_the_question(root: Path) -> None:
    (root / "ask").mkdir()
    os.mkfifo(root / "ask/spoken")
    (root / "ask/loop").symlink_to("loop")
    tree = FolderTree(root)
    assert code_of(lambda: tree.ask("loop")) == "ELOOP"
    assert code_of(lambda: tree.ask("spoken")) == "NOT_OFFERED"
