"""Questions at the console after the verdict: a word each, and the verdict again.

What was answered is kept however the asking ends: by the word, Ctrl-C, or a closed terminal.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from typing import Final

from closeout.cli.keyboard import Keyboard, hang_up_as_stop
from closeout.cli.plain import make_screen
from closeout.cli.source import moment_now
from closeout.cli.surroundings import Surroundings
from closeout.cli.typed_text import LONGEST_CODE, LONGEST_REASON, wrong_with
from closeout.cli.typed_word import Word, read_word
from closeout.expect.scan import tidy
from closeout.judge.questions import open_questions
from closeout.judge.saying import say, words_of
from closeout.model.catalogue import Entry
from closeout.model.expectation import CONNECTION
from closeout.model.finding import Answer, Finding, Reply
from closeout.model.frozen import replace
from closeout.model.naming import name_finding
from closeout.model.report import Report
from closeout.report.console import MOST_REASONS, VERDICT_STYLES, Desk
from closeout.report.foreign import fit_encoding
from closeout.report.story import headline

NO_REASON: Final = "answered at the console"
PROMPT: Final = "yes, no, Enter = later, stop: "
REASON_PROMPT: Final = "What was seen? (Enter = none) "
CODE_PROMPT: Final = "Your code (Enter = no questions): "
OTHER_WORD: Final = "one of these words is wanted, typed or scanned"
ALWAYS: Final = "Is it as it should be?"
"""The question of a report that has no words for a finding."""


def put_questions(
    report: Report, surroundings: Surroundings, hide: Callable[[Report], Report]
) -> Report:
    """The report with what the person answered; `hide` makes of a report what may be seen of it.

    Asks nothing where no question is open.
    """
    numbers = open_questions(report.findings)
    if not numbers:
        return report
    dialogue = _Dialogue(report, surroundings, hide)
    # However it ends, and in whatever moment, what was answered is handed on.
    with suppress(KeyboardInterrupt), hang_up_as_stop():
        try:
            dialogue.hold(numbers)
        except KeyboardInterrupt:
            dialogue.put_line("")
        dialogue.conclude()
    return dialogue.report


class _Dialogue:
    def __init__(
        self, report: Report, surroundings: Surroundings, hide: Callable[[Report], Report]
    ) -> None:
        self.report = report
        self._before = report.findings
        self._hide = hide
        self._shown = hide(report)
        self._words = words_of(self._shown)
        self._surroundings = surroundings
        self._keyboard = Keyboard(surroundings.stdin)
        self._desk = Desk(make_screen(surroundings.stdout))
        self._warned: set[str] = set()

    def hold(self, numbers: tuple[int, ...]) -> None:
        """Puts every question, until the person stops."""
        count = len(numbers)
        self.put_line("")
        self.put_line(f"{count} question{'s' if count > 1 else ''} for you:")
        by = self.report.circumstances.handling.operator or self._ask_code()
        if not by:
            return
        for place, number in enumerate(numbers, start=1):
            self._show(number, f"Question {place} of {count}")
            word = self._ask_word()
            if word is Word.STOP:
                return
            if word is not Word.NEXT and self._answer(number, word, by) is Word.STOP:
                return

    def conclude(self) -> None:
        """Says the verdict again where something was answered, and what is left."""
        if self.report.findings != self._before:
            shown = self._hide(self.report)
            self.put_line("")
            self._desk.line(headline(shown).upper(), style=VERDICT_STYLES[shown.verdict])
            for reason in shown.reasons[:MOST_REASONS]:
                self._desk.line(reason, lead="- ")
        if left := open_questions(self.report.findings):
            listed = ", ".join(map(str, left))
            self.put_line(f"Left for later, by closeout answer: {listed}")

    def put_line(self, text: str) -> None:
        """A line of our own words."""
        self._desk.line(text)

    def _show(self, number: int, lead: str) -> None:
        finding = self._shown.findings[number - 1]
        entry = self._words[finding.rule]
        self.put_line("")
        name = name_finding(finding, entry)
        self._desk.line(f"{name} (finding {number}, {finding.weight.value})", lead=f"{lead}: ")
        self._desk.line(_matter(finding), lead="  ", style="dim")
        self._warn(entry)
        self._desk.line(_question(finding, entry), lead="  ", style="bold")

    def _warn(self, entry: Entry) -> None:
        """What can hurt, where the hand is; the same words only once."""
        if entry.caution and entry.caution not in self._warned:
            self._warned.add(entry.caution)
            self._desk.line(entry.caution, lead="  Caution: ", lead_style="bold yellow")

    def _ask_code(self) -> str:
        """Who answers; empty where nobody wants to. It is the operator of the check from then."""
        typed = self._ask_text(CODE_PROMPT, LONGEST_CODE) or ""
        code = "" if read_word(typed) else tidy(typed)
        if code:
            facts = self.report.circumstances
            handling = replace(facts.handling, operator=code)
            self.report = replace(self.report, circumstances=replace(facts, handling=handling))
        return code

    def _ask_word(self) -> Word:
        """One of the four words; an input that ended is STOP."""
        while True:
            typed = self._ask(f"  {PROMPT}")
            if typed is None:
                return Word.STOP
            if word := read_word(typed):
                return word
            self._desk.line(OTHER_WORD, lead="  ")

    def _answer(self, number: int, word: Word, by: str) -> Word:
        """Records the answer before its reason is asked; STOP where the person ended there."""
        reply = Reply.YES if word is Word.YES else Reply.NO
        facts = self.report.circumstances
        moment = moment_now(self._surroundings)
        answer = Answer(reply=reply, by=by, reason=NO_REASON, at=moment, attempt=facts.attempt)
        before = self.report
        self.report = say(before, number, answer)
        if reply is Reply.YES:
            return word
        reason = self._ask_text(f"  {REASON_PROMPT}", LONGEST_REASON)
        ended = Word.STOP if reason is None else read_word(reason)
        if reason and not ended:
            self.report = say(before, number, replace(answer, reason=reason))
        return ended or word

    def _ask_text(self, prompt: str, longest: int) -> str | None:
        """A line that may stand in a report, empty where there is none; None at the input's end."""
        while True:
            typed = self._ask(prompt)
            if typed is None or not typed.strip():
                return typed and ""
            if not (wrong := wrong_with(typed, longest)):
                return typed.strip()
            self._desk.line(wrong, lead="  ")

    def _ask(self, prompt: str) -> str | None:
        stream = self._surroundings.stdout
        stream.flush()
        self._keyboard.forget()
        stream.write(fit_encoding(prompt, stream.encoding or "utf-8"))
        stream.flush()
        return self._keyboard.line()


def _matter(finding: Finding) -> str:
    """What was read and where it is; what nothing reads has only its place."""
    where = f"at {finding.connection}" if finding.connection else ""
    if finding.kind == CONNECTION:
        return where
    told = f"expected {finding.expected}, found {finding.found}"
    return f"{told}; {where}" if where else told


def _question(finding: Finding, entry: Entry) -> str:
    return entry.question or ALWAYS if finding.answerable else ""
