"""The running machine, asked by system calls; whatever machine it is."""

import errno
import json
import os
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from closeout.kernel import live, regular
from closeout.kernel.failure import ReadError, Reason
from closeout.kernel.live import LiveTree


@pytest.mark.live
def test_procfs_files_are_read_whole() -> None:
    assert Path("/proc/cpuinfo").stat().st_size == 0
    assert LiveTree().read("proc/cpuinfo").endswith(b"\n")


@pytest.mark.live
def test_sysfs_attributes_are_read_to_their_end() -> None:
    (state,) = LiveTree().read("sys/devices/system/cpu/online").splitlines()
    assert state.startswith(b"0")


@pytest.mark.live
def test_sysfs_classes_are_listed_and_followed() -> None:
    tree = LiveTree()
    assert tree.names("sys/class") == tuple(sorted(tree.names("sys/class")))
    real = tree.target("sys/class/tty/tty0")
    assert real.startswith("sys/devices/")
    assert tree.read(f"{real}/dev") == tree.read("sys/class/tty/tty0/dev")


@pytest.mark.live
@pytest.mark.parametrize("node", ["dev/null", "dev/zero", "dev/tty0"])
def test_device_nodes_are_not_opened(node: str, pretend: Callable[..., None]) -> None:
    def never(*_: object) -> int:
        raise AssertionError("opened")

    pretend(regular, "os", open=never)
    with pytest.raises(ReadError) as caught:
        LiveTree().read(node)
    assert caught.value.code in {"NOT_OFFERED", "ENOENT"}


@pytest.mark.live
def test_kernel_errors_are_the_answer() -> None:
    with pytest.raises(ReadError) as caught:
        LiveTree().names("sys/class/no_such_class")
    assert caught.value.code == "ENOENT"
    with pytest.raises(ReadError) as caught:
        LiveTree().read("sys/bus/pci/rescan")
    assert caught.value.code in {"EACCES", "EIO", "ENOENT"}


def failing(answers: Iterator[int | bytes]) -> object:
    def read(descriptor: int, size: int) -> bytes:
        del descriptor, size
        answer = next(answers)
        if isinstance(answer, int):
            raise OSError(answer, os.strerror(answer))
        return answer

    return read


@pytest.mark.parametrize(
    ("answers", "found", "waited"),
    [
        ([errno.EAGAIN, b"42\n", b""], b"42\n", 1),
        ([errno.EAGAIN, errno.EAGAIN, errno.EAGAIN, b"42\n", b""], b"42\n", 3),
        ([errno.EAGAIN] * 4, "EAGAIN", 3),
        ([errno.ENODATA, b"42\n", b""], b"42\n", 1),
        ([errno.ENODATA] * 2, "ENODATA", 1),
        ([errno.EIO], "EIO", 0),
    ],
)
def test_what_is_not_ready_is_asked_again(
    tmp_path: Path,
    pretend: Callable[..., None],
    answers: list[int | bytes],
    found: bytes | str,
    waited: int,
) -> None:
    (tmp_path / "temp1_input").touch()
    waits: list[float] = []
    pretend(live, "time", sleep=waits.append)
    pretend(regular, "os", read=failing(iter(answers)))
    tree = LiveTree(str(tmp_path))
    if isinstance(found, bytes):
        assert tree.read("temp1_input") == found
    else:
        with pytest.raises(ReadError) as caught:
            tree.read("temp1_input")
        assert caught.value.code == found
    assert len(waits) == waited


@pytest.mark.parametrize("path", ["/proc/version", "../x", "a\0"])
def test_paths_are_relative_to_the_root(path: str) -> None:
    tree = LiveTree()
    for question in (tree.read, tree.names, tree.target):
        with pytest.raises(ReadError) as caught:
            question(path)
        assert caught.value.number == errno.EINVAL


def test_names_come_from_the_ids_file(tmp_path: Path) -> None:
    ids = tmp_path / "usr/share/misc/pci.ids"
    ids.parent.mkdir(parents=True)
    ids.write_bytes(b"1af5  Norwel Systems\n")
    assert LiveTree(str(tmp_path)).ask("names pci 1af5:0001") == b'{"vendor": "Norwel Systems"}'


@pytest.mark.live
def test_the_library_is_asked_for_its_opinion() -> None:
    assert json.loads(LiveTree().ask("psutil virtual_memory"))["total"] > 0


def test_an_unknown_question_is_not_offered(tmp_path: Path) -> None:
    with pytest.raises(ReadError) as caught:
        LiveTree(str(tmp_path)).ask("the weather")
    assert caught.value.reason is Reason.NOT_OFFERED
