"""Questions at the terminal, each put until what is typed or scanned can be taken."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Final, TypeVar

from closeout.cli.keyboard import Keyboard
from closeout.cli.plain import Plain, terminal_width
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import InputTroubleError
from closeout.cli.typed_word import Word, read_word
from closeout.expect.mistake import list_words
from closeout.expect.scan import Settled, settle, tidy
from closeout.expect.vocabulary import REPAIRS
from closeout.report.console import Desk
from closeout.report.foreign import fit_encoding

T = TypeVar("T")

A_WORD: Final = "that is a word of the answer card; scan what is asked for"


class Dialogue:
    """A person at the terminal; `has_ended` once they said stop, or the input ended."""

    def __init__(self, surroundings: Surroundings) -> None:
        self.has_ended = False
        self._stream = surroundings.stdout
        self._keyboard = Keyboard(surroundings.stdin)
        self._desk = Desk(Plain(self._stream, terminal_width()))

    def tell(self, text: str, lead: str = "") -> None:
        """A line, laid on as many as the terminal needs for it."""
        self._desk.line(text, lead=lead)

    def ask(self, prompt: str, skipped: str, read: Callable[[str], T]) -> T | None:
        """What was scanned; None where the person goes on without it, or the input ended."""
        if self.has_ended:
            return None
        if skipped:
            self.tell(skipped)
        while True:
            typed = self.line(f"{prompt}: ")
            word = Word.STOP if typed is None else read_word(tidy(typed))
            if typed is None or word in {Word.NEXT, Word.STOP}:
                self.has_ended = word is Word.STOP
                return None
            try:
                return _read(typed, word, read)
            except InputTroubleError as trouble:
                self.tell(str(trouble), lead="  ")

    def ask_repairs(self, prompt: str, skipped: str) -> Iterator[str]:
        """The repairs, one by one, until the person goes on."""
        told = skipped
        while repair := self.ask(prompt, told, _read_repair):
            told = ""
            self.tell(repair, lead="  ")
            yield repair

    def line(self, prompt: str) -> str | None:
        """What is typed behind the prompt; None where the input ended."""
        self._prompt(prompt)
        return self._keyboard.line()

    def unseen_line(self, prompt: str) -> str | None:
        """What is typed behind the prompt without being shown; None where the input ended."""
        with self._keyboard.unseen():
            self._prompt(prompt)
            return self._keyboard.line()

    def _prompt(self, prompt: str) -> None:
        self._stream.flush()
        self._keyboard.forget()
        self._stream.write(fit_encoding(prompt, self._stream.encoding or "utf-8"))
        self._stream.flush()


def _read(typed: str, word: Word | None, read: Callable[[str], T]) -> T:
    if word:
        raise InputTroubleError(A_WORD)
    return read(typed)


def _read_repair(typed: str) -> str:
    found = settle(typed, lambda text: text.lower() in REPAIRS)
    if not isinstance(found, Settled):
        raise InputTroubleError(f"no such repair; one of: {list_words(REPAIRS)}")
    return found.text.lower()
