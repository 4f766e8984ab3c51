"""One question to the machine and its answer, as it is kept for replay."""

from __future__ import annotations

import errno
from collections.abc import Callable
from enum import StrEnum
from typing import Final, NamedTuple, TypeAlias

from closeout.kernel.failure import ReadError, Reason
from closeout.kernel.tree import KernelTree
from closeout.model.frozen import frozen

NOTHING_THERE: Final = frozenset({errno.ENOENT, errno.ENOTDIR})


class Kind(StrEnum):
    """The four kinds of question, as the methods of `KernelTree`."""

    ASK = "ask"
    NAMES = "names"
    READ = "read"
    TARGET = "target"


class Question(NamedTuple):
    """What was asked: for a file, a listing or a link its path.

    A tuple, for it is the key to every answer, and a tuple is hashed and compared the fastest.
    """

    kind: Kind
    text: str


@frozen
class Failure:
    """Why there is no answer; what a `ReadError` says without the question."""

    number: int
    reason: Reason = Reason.KERNEL


def is_nothing_there(question: Question, failure: Failure) -> bool:
    """Whether the failure is itself the answer: no such file, folder, link, or ability."""
    if failure.reason is not Reason.KERNEL:
        return False
    is_no_link = question.kind is Kind.TARGET and failure.number == errno.EINVAL
    is_no_ability = question.kind is Kind.ASK and failure.number == errno.ENOTSUP
    return is_no_link or is_no_ability or failure.number in NOTHING_THERE


Answer: TypeAlias = bytes | tuple[str, ...] | str | Failure
"""Bytes for READ and ASK, names for NAMES, a path for TARGET; a failure for any of them."""


@frozen
class Record:
    """A question, its answer, and how long the answer took.

    The duration is for people who look for a slow device; no finding may depend on it.
    """

    question: Question
    answer: Answer
    microseconds: int

    def __init__(self, *, question: Question, answer: Answer, microseconds: int) -> None:
        # Written out, in two thirds of the time: a recording has a thousand.
        content = self.__dict__
        content["question"] = question
        content["answer"] = answer
        content["microseconds"] = microseconds


Journal: TypeAlias = dict[Question, Record]
"""Every question of a run with its one answer."""

Clock: TypeAlias = Callable[[], int]
"""A monotonic clock in nanoseconds; it measures, and dates nothing."""


def put(tree: KernelTree, question: Question) -> Answer:
    """The answer that a tree gives, a failure included; raises nothing of the tree's."""
    kind, text = question
    try:
        match kind:
            case Kind.READ:
                return tree.read(text)
            case Kind.NAMES:
                return tree.names(text)
            case Kind.TARGET:
                return tree.target(text)
            case Kind.ASK:
                return tree.ask(text)
    except ReadError as failure:
        return Failure(number=failure.number, reason=failure.reason)
