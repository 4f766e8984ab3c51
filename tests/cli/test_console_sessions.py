"""The program on a pseudo-terminal, as technician, scanner and a hand on Ctrl-C use it."""

import signal
from pathlib import Path

import pytest

from closeout.model.finding import Answer, Reply
from closeout.report.screen import columns as columns_of
from strategies.console_session import CTRL_C, CTRL_D, Session
from strategies.laid_out import healthy
from strategies.surroundings import call_in
from strategies.written_attempt import everything, load

CODE = "Your code (Enter = no questions): "
PROMPT = "stop: "
REASON = "(Enter = none) "
NEVER_WRAPPED = ("Report: ", "Your code", "  What was seen?", "  yes, no")
"""How lines begin that we leave to the terminal: a path to copy, and where somebody types."""


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """A folder with a unit of which two shoulds are open under its model's profile."""
    healthy(tmp_path / "unit", maker="Northlake", product="Fen 14")
    return tmp_path


def start(place: Path, *arguments: object, columns: int = 80, term: str = "xterm") -> Session:
    return Session(
        *(place, "check", "--root", place / "unit", *arguments), columns=columns, term=term
    )


def answers(place: Path) -> list[Answer]:
    (attempt,) = (place / "closeout-reports" / "no-order").iterdir()
    return [one.answer for one in load(attempt).findings if one.answer]


def test_budget_first_words_questions_verdict_and_figures_in_their_order(place: Path) -> None:
    session = start(place)
    session.wait_for("Budget: reading 10 s as a rule, 1 min at most")
    session.wait_for("Northlake Fen 14, serial NW83KD20")
    session.wait_for("; not seen yet: keyboard light")
    session.wait_for("HOLD")
    session.wait_for(CODE)
    session.type("t17\r")
    for _ in range(2):
        session.wait_for(PROMPT)
        session.type("y\r")
    session.wait_for("HOLD")
    session.wait_for("Report: ")
    session.wait_for("Took: reading ")
    assert session.end() == 1
    assert "2 answered" in session.text
    assert [one.by for one in answers(place)] == ["t17", "t17"]


@pytest.mark.parametrize(
    ("columns", "term"), [(40, "xterm"), (80, "dumb"), (40, "dumb"), (24, "linux")]
)
def test_narrow_and_dumb_terminals_are_asked_the_same(place: Path, columns: int, term: str) -> None:
    session = start(place, columns=columns, term=term)
    session.wait_for("no questions)")
    session.type("t17\r")
    session.wait_for(PROMPT)
    session.type("no\r")
    session.wait_for(REASON)
    session.type("it stays upright\r")
    session.wait_for(PROMPT)
    session.type("stop\r")
    assert session.end() == 1
    assert [(one.reply, one.reason) for one in answers(place)] == [(Reply.NO, "it stays upright")]
    if term == "dumb":
        assert b"\x1b" not in session.seen
    after_the_verdict = session.text[session.text.index("HOLD") :]
    for line in after_the_verdict.splitlines():
        assert columns_of(line) <= columns or line.startswith(NEVER_WRAPPED), line


def test_a_scanners_burst_is_one_answer(place: Path) -> None:
    """Return, line feed and the code once more: the next question is not answered by these."""
    session = start(place)
    session.wait_for(CODE)
    session.type("]C0T17\r\n")
    session.wait_for("Question 1 of 2")
    session.wait_for(PROMPT)
    session.type("]C0YES\r\n]C0YES\r\n")
    session.wait_for("Question 2 of 2")
    session.wait_for(PROMPT)
    session.type("]C0NO\r\n")
    session.wait_for(REASON)
    session.type("]C0NEXT\r\n")
    assert session.end() == 1
    assert [one.reply for one in answers(place)] == [Reply.YES, Reply.NO]
    assert {one.by for one in answers(place)} == {"T17"}


def test_what_is_typed_while_the_unit_is_read_answers_nothing(place: Path) -> None:
    session = start(place)
    session.type("yes\ryes\ryes\r")
    session.wait_for(CODE)
    session.type("t17\r")
    session.wait_for(PROMPT)
    session.type("stop\r")
    assert session.end() == 1
    assert answers(place) == []


@pytest.mark.parametrize("ending", [CTRL_C, CTRL_D])
@pytest.mark.parametrize("typed", ["yes\r", "no\r"])
def test_what_was_answered_is_kept_when_the_asking_is_broken_off(
    place: Path, ending: bytes, typed: str
) -> None:
    session = start(place)
    session.wait_for(CODE)
    session.type("t17\r")
    session.wait_for(PROMPT)
    session.type(typed)
    session.wait_for(REASON if typed == "no\r" else PROMPT)
    session.type(ending)
    assert session.end() == 1
    assert [one.reason for one in answers(place)] == ["answered at the console"]
    assert "Report: " in session.text


def test_a_terminal_that_is_closed_leaves_the_report_with_what_was_answered(place: Path) -> None:
    session = start(place)
    session.wait_for(CODE)
    session.type("t17\r")
    session.wait_for(PROMPT)
    session.type("yes\r")
    session.wait_for("Question 2 of 2")
    session.wait_for(PROMPT)
    session.hang_up()
    assert session.wait() != -signal.SIGHUP
    assert [one.reply for one in answers(place)] == [Reply.YES]


def test_ctrl_c_while_reading_writes_nothing(place: Path) -> None:
    session = start(place)
    session.wait_for("Budget: ")
    session.type(CTRL_C)
    code = session.end()
    assert code in {130, 1}  # 1 where the reading was already over
    assert (code == 130) == (not (place / "closeout-reports").exists())


@pytest.mark.parametrize("option", ["--no-questions", "--quiet"])
def test_options_switch_the_questions_off(place: Path, option: str) -> None:
    session = start(place, option)
    assert session.end() == 1
    assert "Your code" not in session.text
    assert ("Budget" in session.text) == (option != "--quiet")


def test_an_answer_on_a_terminal_afterwards_leaves_the_old_revision(place: Path) -> None:
    assert start(place, "--no-questions").end() == 1
    (attempt,) = (place / "closeout-reports" / "no-order").iterdir()
    before = everything(attempt)
    for number, words in enumerate(
        (("answer", "clock.kept_time", "no"), ("concede", "1")), start=1
    ):
        session = Session(
            *(place, words[0], attempt.with_name(attempt.name + ("-r2" if number > 1 else ""))),
            *(*words[1:], "--by", "L. Arden", "--reason", "seen"),
            columns=40,
        )
        assert session.end() == 0, session.text
    third = load(attempt.with_name(f"{attempt.name}-r3"))
    assert [each.number for each in third.revisions] == [2, 3]
    assert everything(attempt) == before
    told = call_in(
        place, "check", "--root", place / "unit", "--again", attempt.with_name(f"{attempt.name}-r3")
    )
    assert told.code == 1
