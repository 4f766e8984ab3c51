"""Switches of an input device: one ioctl that reads, and nothing else."""

import array
import errno
import os
import stat
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import pytest

from closeout.kernel import input_switches
from closeout.kernel.failure import ReadError, Reason
from closeout.kernel.input_switches import EVIOCGSW, ask_switches, is_switches_question
from closeout.kernel.live import LiveTree

QUESTION = "input switches event3"
CHARACTER = SimpleNamespace(st_mode=stat.S_IFCHR | 0o660, st_rdev=os.makedev(13, 67))
NULL = SimpleNamespace(st_mode=stat.S_IFCHR | 0o666, st_rdev=os.makedev(1, 3))


class Device:
    """An input device that is opened, asked and closed, as a test wants it."""

    def __init__(self, answer: bytes | int, found: object = CHARACTER) -> None:
        self.answer = answer
        self.found = found
        self.opened: list[tuple[bytes, int]] = []
        self.requests: list[int] = []
        self.closed: list[int] = []

    def open_device(self, place: bytes, flags: int) -> int:
        """Noted, and given a number."""
        self.opened.append((place, flags))
        return 77

    def ioctl(self, descriptor: int, request: int, state: "array.array[int]") -> None:
        """The answer, or the failure, of the one request."""
        assert descriptor == 77
        self.requests.append(request)
        if isinstance(self.answer, int):
            raise OSError(self.answer, os.strerror(self.answer))
        state[: len(self.answer)] = array.array("B", self.answer)

    def install(self, pretend: Callable[..., None]) -> None:
        """In the place of the system's calls, for the module and nobody else."""
        looks = {"stat": lambda _: self.found, "fstat": lambda _: self.found}
        pretend(input_switches, "os", open=self.open_device, close=self.closed.append, **looks)
        pretend(input_switches, "fcntl", ioctl=self.ioctl)


def test_the_set_switches_are_told_in_words(pretend: Callable[..., None]) -> None:
    device = Device(b"\x14")
    device.install(pretend)
    assert LiveTree().ask(QUESTION) == b"14\n"
    assert [place for place, _ in device.opened] == [b"/dev/input/event3"]
    assert device.requests == [EVIOCGSW]
    assert device.closed == [77]


def test_the_device_is_opened_for_reading_alone(pretend: Callable[..., None]) -> None:
    device = Device(b"")
    device.install(pretend)
    assert ask_switches(b"", QUESTION) == b"0\n"
    ((_, flags),) = device.opened
    assert flags & os.O_ACCMODE == os.O_RDONLY
    assert flags & os.O_NONBLOCK


def test_the_request_only_reads() -> None:
    """The direction is in the two top bits, 2 is read; linux/input.h gives number 1Bh."""
    assert EVIOCGSW >> 30 == 2
    assert EVIOCGSW & 0xFF == 0x1B
    assert chr(EVIOCGSW >> 8 & 0xFF) == "E"


@pytest.mark.parametrize("number", [errno.ENODEV, errno.EACCES, errno.EINVAL])
def test_a_failure_is_the_kernels_and_the_device_is_closed(
    number: int, pretend: Callable[..., None]
) -> None:
    device = Device(number)
    device.install(pretend)
    with pytest.raises(ReadError) as caught:
        ask_switches(b"", QUESTION)
    assert (caught.value.number, caught.value.reason) == (number, Reason.KERNEL)
    assert device.closed == [77]


@pytest.mark.parametrize("found", [NULL, SimpleNamespace(st_mode=stat.S_IFREG, st_rdev=0)])
def test_what_is_no_input_device_is_not_opened(found: object, pretend: Callable[..., None]) -> None:
    device = Device(b"\x01", found)
    device.install(pretend)
    with pytest.raises(ReadError) as caught:
        ask_switches(b"", QUESTION)
    assert caught.value.reason is Reason.NOT_OFFERED
    assert device.opened == []


def test_a_missing_device_is_absent(tmp_path: Path) -> None:
    with pytest.raises(ReadError) as caught:
        ask_switches(os.fsencode(tmp_path), QUESTION)
    assert caught.value.code == "ENOENT"


@pytest.mark.parametrize("question", ["input switches event3/../../null", "names usb 1:1"])
def test_another_question_is_not_answered(question: str) -> None:
    assert not is_switches_question(question)
    with pytest.raises(ReadError) as caught:
        ask_switches(b"", question)
    assert caught.value.code == "NOT_OFFERED"
