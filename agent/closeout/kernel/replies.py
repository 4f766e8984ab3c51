"""A `KernelTree` whose four questions all go through one place."""

from __future__ import annotations

from collections.abc import Callable

from closeout.kernel.failure import ReadError
from closeout.kernel.record import Answer, Failure, Kind, Question


class Replies:
    """Turns the four methods of `KernelTree` into questions, and failures into `ReadError`.

    `reply` answers any question with the kind of answer that belongs to it; a failure is
    answered, not raised.
    """

    def __init__(self, reply: Callable[[Question], Answer]) -> None:
        self._reply = reply

    def read(self, path: str) -> bytes:
        """The whole content of a file."""
        answer = self._reply(Question(Kind.READ, path))
        if isinstance(answer, bytes):
            return answer
        raise _trouble(path, answer)

    def names(self, folder: str) -> tuple[str, ...]:
        """The sorted names in a folder."""
        answer = self._reply(Question(Kind.NAMES, folder))
        if isinstance(answer, tuple):
            return tuple(sorted(answer))
        raise _trouble(folder, answer)

    def target(self, link: str) -> str:
        """Where a symbolic link leads, relative to the root."""
        answer = self._reply(Question(Kind.TARGET, link))
        if isinstance(answer, str):
            return answer
        raise _trouble(link, answer)

    def ask(self, question: str) -> bytes:
        """The answer to a question that no file answers."""
        answer = self._reply(Question(Kind.ASK, question))
        if isinstance(answer, bytes):
            return answer
        raise _trouble(question, answer)


def _trouble(text: str, answer: Answer) -> Exception:
    """The failure as an error; an answer of the wrong kind is a fault of our own."""
    if isinstance(answer, Failure):
        return ReadError(text, answer.number, answer.reason)
    return TypeError(text)
