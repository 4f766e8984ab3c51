"""One child of the live source: runs its tasks and tells the parent each question and record.

What goes through the pipe are lines: `?` and a question before it is put, `=` and its record
after, `.` when a task is through. Answers are scrubbed before they are sent.
"""

from __future__ import annotations

import gc
import os
import signal
from collections.abc import Callable
from typing import Final, NoReturn

from closeout.kernel.record import Question, Record
from closeout.kernel.record_line import encode_question, encode_record

ASKED: Final = "?"
ANSWERED: Final = "="
THROUGH: Final = "."
STANDARD_STREAMS: Final = (0, 1, 2)
PIPE: Final = 3
INTERRUPTS: Final = (signal.SIGINT, signal.SIGTERM)
MOST_DESCRIPTORS: Final = 65_536
"""Where the limit on open files is higher still, no number above this is in use."""


class Wire:
    """The child's end of the pipe; it is a `Watcher` of the child's recorder."""

    def __init__(self, descriptor: int) -> None:
        self._descriptor = descriptor

    def asked(self, question: Question) -> None:
        """The question is put now: the parent's deadline runs."""
        self._send(ASKED, encode_question(question))

    def answered(self, record: Record) -> None:
        """The question has its record."""
        self._send(ANSWERED, encode_record(record))

    def through(self) -> None:
        """Every question of a task has been put."""
        self._send(THROUGH, "")

    def _send(self, tag: str, text: str) -> None:
        rest = memoryview(f"{tag}{text}\n".encode("ascii"))
        while rest:
            rest = rest[os.write(self._descriptor, rest) :]


def start_child(work: Callable[[Wire], None]) -> tuple[int, int]:
    """The process id of a new child that does the work, and the pipe to read it by.

    The child has its own session, the null device as standard streams, and no descriptor but
    its end of the pipe: when it is left behind, stuck in the kernel, it holds nothing that
    anybody waits for. It leaves by `os._exit`, so nothing of the parent's runs or is written
    twice.

    Raises:
        OSError: no more processes or descriptors.
    """
    reading, writing = os.pipe()
    # An interrupt that reached the new child before it is one would run the parent's code there.
    mask = signal.pthread_sigmask(signal.SIG_BLOCK, INTERRUPTS)
    try:
        pid = os.fork()
        if pid == 0:
            _be_child(work, writing)
    except OSError:
        os.close(reading)
        raise
    finally:
        os.close(writing)
        signal.pthread_sigmask(signal.SIG_SETMASK, mask)
    os.set_blocking(reading, False)
    return pid, reading


def _be_child(work: Callable[[Wire], None], writing: int) -> NoReturn:
    try:
        # A collection would touch, and so copy, the memory shared with the parent.
        gc.disable()
        for number in INTERRUPTS:
            signal.signal(number, signal.SIG_DFL)
        signal.pthread_sigmask(signal.SIG_UNBLOCK, INTERRUPTS)
        _let_go(writing)
        work(Wire(PIPE))
    finally:
        # Also when the parent is gone and the pipe is broken: there is nobody left to tell.
        os._exit(0)


def _let_go(writing: int) -> None:
    os.setsid()
    os.chdir("/")
    # The pipe first: where the parent was started without streams, it has one of their numbers.
    os.dup2(writing, PIPE)
    null = os.open(os.devnull, os.O_RDWR)
    for stream in STANDARD_STREAMS:
        os.dup2(null, stream)
    limit = os.sysconf("SC_OPEN_MAX")
    os.closerange(PIPE + 1, limit if 0 < limit < MOST_DESCRIPTORS else MOST_DESCRIPTORS)
