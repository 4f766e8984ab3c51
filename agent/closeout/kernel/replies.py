"""A `KernelTree` whose four questions all go through one place."""

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
        return self._bytes(Kind.READ, path)

    def names(self, folder: str) -> tuple[str, ...]:
        """The sorted names in a folder."""
        answer = self._answer(Kind.NAMES, folder)
        if not isinstance(answer, tuple):
            raise TypeError(folder)
        return answer

    def target(self, link: str) -> str:
        """Where a symbolic link leads, relative to the root."""
        answer = self._answer(Kind.TARGET, link)
        if not isinstance(answer, str):
            raise TypeError(link)
        return answer

    def ask(self, question: str) -> bytes:
        """The answer to a question that no file answers."""
        return self._bytes(Kind.ASK, question)

    def _bytes(self, kind: Kind, text: str) -> bytes:
        answer = self._answer(kind, text)
        if not isinstance(answer, bytes):
            raise TypeError(text)
        return answer

    def _answer(self, kind: Kind, text: str) -> bytes | tuple[str, ...] | str:
        answer = self._reply(Question(kind=kind, text=text))
        if isinstance(answer, Failure):
            raise ReadError(text, answer.number, answer.reason)
        return answer
