"""The enclosure itself: what a test may not reach, and what it may."""

import os
import socket
from pathlib import Path

import pytest

from enclosure import OutsideReachedError, is_local_address, is_machine_path


@pytest.mark.parametrize("path", ["/proc/self/status", "/sys/class", "/dev/../proc/version"])
def test_machine_files_are_out_of_reach(path: str) -> None:
    with pytest.raises(OutsideReachedError):
        Path(path).read_bytes()
    with pytest.raises(OutsideReachedError):
        os.open(path, os.O_RDONLY)


def test_machine_folders_are_out_of_reach() -> None:
    with pytest.raises(OutsideReachedError):
        list(Path("/sys").iterdir())
    with pytest.raises(OutsideReachedError), os.scandir(b"/proc"):
        pass


@pytest.mark.live
def test_a_live_test_reads_the_machine() -> None:
    assert Path("/proc/self/status").read_text().startswith("Name:")


def test_harmless_devices_and_own_files_are_in_reach(tmp_path: Path) -> None:
    (tmp_path / "sys").mkdir()
    assert [entry.name for entry in tmp_path.iterdir()] == ["sys"]
    assert Path(os.devnull).read_bytes() == b""


def test_network_is_out_of_reach() -> None:
    with socket.socket() as asking, pytest.raises(OutsideReachedError):
        asking.connect(("127.0.0.1", 9))
    with pytest.raises(OutsideReachedError):
        socket.getaddrinfo("localhost", 80)


def test_an_open_file_number_is_no_path() -> None:
    assert not is_machine_path(3)


def test_a_name_that_only_begins_alike_is_no_machine_path() -> None:
    assert not is_machine_path("/system/file")
    assert not is_machine_path("sys/class")
    assert is_machine_path("/sys")


def test_only_unix_sockets_are_local() -> None:
    assert is_local_address("/run/somewhere.sock")
    assert not is_local_address("localhost")
    assert not is_local_address(("127.0.0.1", 9))
