"""Why a question to the machine got no answer: always an errno, and our own word beside it."""

from __future__ import annotations

import errno
from enum import Enum


class Reason(Enum):
    """What kind of failure it was; KERNEL means that the errno is the kernel's own."""

    KERNEL = "KERNEL"
    DEADLINE = "DEADLINE"
    TOO_LARGE = "TOO_LARGE"
    NOT_RECORDED = "NOT_RECORDED"
    DIED = "DIED"
    """The process that asked ended before it had the answer."""
    NOT_OFFERED = "NOT_OFFERED"
    """The source cannot answer such a question: no library, or nothing under `ask/`."""
    ASLEEP = "ASLEEP"
    """The disk has spun down, and to ask it would wake it."""


class ReadError(Exception):
    """A question that failed: which one, with which errno, and for which reason."""

    def __init__(self, question: str, number: int, reason: Reason = Reason.KERNEL) -> None:
        super().__init__(f"{question}: {errno.errorcode.get(number, str(number))}")
        self.question = question
        self.number = number
        self.reason = reason

    @property
    def code(self) -> str:
        """The errno name for a failure of the kernel's, our own word for any other."""
        if self.reason is Reason.KERNEL:
            return errno.errorcode.get(self.number, f"ERRNO_{self.number}")
        return str(self.reason.value)
