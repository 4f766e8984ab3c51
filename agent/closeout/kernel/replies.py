"""A `KernelTree` whose four questions all go through one place."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable

from closeout.kernel.failure import ReadError
from closeout.kernel.record import Answer, Failure, Kind, Question


class Replies(ABC):
    """Turns the four methods of `KernelTree` into questions, and failures into `ReadError`."""

    @abstractmethod
    def reply(self, question: Question) -> Answer:
        """The kind of answer that belongs to the question; a failure is answered, not raised."""

    def read(self, path: str) -> bytes:
        """The whole content of a file."""
        answer = self.reply(Question(Kind.READ, path))
        if isinstance(answer, bytes):
            return answer
        raise _trouble(path, answer)

    def names(self, folder: str) -> tuple[str, ...]:
        """The sorted names in a folder."""
        answer = self.reply(Question(Kind.NAMES, folder))
        if isinstance(answer, tuple):
            return tuple(sorted(answer))
        raise _trouble(folder, answer)

    def target(self, link: str) -> str:
        """Where a symbolic link leads, relative to the root."""
        answer = self.reply(Question(Kind.TARGET, link))
        if isinstance(answer, str):
            return answer
        raise _trouble(link, answer)

    def ask(self, question: str) -> bytes:
        """The answer to a question that no file answers."""
        answer = self.reply(Question(Kind.ASK, question))
        if isinstance(answer, bytes):
            return answer
        raise _trouble(question, answer)


class RepliesBy(Replies):
    """The same, of a function."""

    def __init__(self, answer: Callable[[Question], Answer]) -> None:
        self._answer = answer

    def reply(  # type: ignore[explicit-override]  # typing has it from 3.12
        self, question: Question
    ) -> Answer:
        """What the function answers."""
        return self._answer(question)


def _trouble(text: str, answer: Answer) -> Exception:
    """The failure as an error; an answer of the wrong kind is a fault of our own."""
    if isinstance(answer, Failure):
        return ReadError(text, answer.number, answer.reason)
    return TypeError(text)
