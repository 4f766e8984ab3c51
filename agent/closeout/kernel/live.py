"""The running machine."""

from __future__ import annotations

import errno
import os
import time
from collections.abc import Callable
from functools import partial
from typing import Final, TypeAlias

from closeout.decode.kernel_log import QUESTION as KERNEL_LOG
from closeout.kernel.bus_names import BusNames
from closeout.kernel.clock_tick import is_tick_question, watch_clock
from closeout.kernel.drives import ask_drive, is_drive_question
from closeout.kernel.failure import ReadError, Reason
from closeout.kernel.input_switches import ask_switches, is_switches_question
from closeout.kernel.kernel_log import read_kernel_log
from closeout.kernel.limits import byte_limit
from closeout.kernel.links import Links
from closeout.kernel.network_questions import answer_network, is_network_question
from closeout.kernel.opinions import QUESTIONS, second_opinion
from closeout.kernel.privacy import forbid_core_dumps
from closeout.kernel.regular import encode_path, list_names, read_regular
from closeout.kernel.secrecy import is_licence_path

Way: TypeAlias = tuple[Callable[[str], bool], Callable[[str], bytes]]
"""Which questions, and what answers them."""

WAITS: Final = {
    # A driver that is not ready, or a sensor whose conversion runs: it says so at once.
    errno.EAGAIN: (0.01, 0.05, 0.2),
    # No sample now; the thermal core turns a driver's EAGAIN into this.
    errno.ENODATA: (0.05,),
}
"""How long to wait, in seconds, before a failed read is put again; then its failure stands."""


class LiveTree:
    """Answers out of the running kernel, inline: a read takes as long as the device takes.

    Whoever cannot wait puts the questions in a child: `closeout.kernel.crew`.
    """

    def __init__(self, root: str = "/") -> None:
        self._root = os.path.abspath(os.fsencode(root)).rstrip(b"/")
        self._links = Links(self._root)
        self._bus_names = BusNames(self.read)
        self._ways: tuple[Way, ...] = (
            (QUESTIONS.__contains__, second_opinion),
            (is_drive_question, partial(ask_drive, self._root)),
            (is_network_question, answer_network),
            (is_switches_question, partial(ask_switches, self._root)),
            (KERNEL_LOG.__eq__, lambda _: read_kernel_log(self._root)),
            (is_tick_question, partial(watch_clock, self.read)),
        )

    def read(self, path: str) -> bytes:
        """The whole content of a file.

        Raises:
            ReadError: as `read_regular`.
        """
        if is_licence_path(path):
            forbid_core_dumps()
        place = encode_path(self._root, path)
        attempt = 0
        while True:
            try:
                return read_regular(place, path, byte_limit(path))
            except ReadError as failure:
                waits = WAITS.get(failure.number, ())
                if failure.reason is not Reason.KERNEL or attempt >= len(waits):
                    raise
                time.sleep(waits[attempt])
                attempt += 1

    def names(self, folder: str) -> tuple[str, ...]:
        """The sorted names in a folder."""
        return list_names(encode_path(self._root, folder), folder)

    def target(self, link: str) -> str:
        """Where a symbolic link leads in one step, relative to the root."""
        encode_path(self._root, link)
        return self._links.target(link)

    def ask(self, question: str) -> bytes:
        """The answer to a question that no file answers: a library's, the log's, a name's.

        Raises:
            ReadError: NOT_OFFERED where nothing answers; else why there is no answer.
        """
        for is_one, answer in self._ways:
            if is_one(question):
                return answer(question)
        return self._bus_names.answer(question)
