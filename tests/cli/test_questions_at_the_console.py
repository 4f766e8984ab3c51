"""Questions after the verdict: what is asked, what is taken for an answer, what is written."""

import os
import pty
import signal
from pathlib import Path

import pytest

from closeout.cli.keyboard import ENDINGS, Keyboard, hang_up_as_stop
from closeout.model.finding import Answer, Reply
from closeout.model.report import Report
from closeout.model.verdict import Verdict
from strategies.laid_out import healthy
from strategies.surroundings import Told, call_in
from strategies.written_attempt import load

CODE = "Your code"
PROMPT = "yes, no, Enter = later, stop: "
SEEN = "What was seen? (Enter = none) "
KEY = "BCDFG-HJKMP-QRTVW-XY234-6789N"


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """A folder with a unit of which two shoulds are open under its model's profile."""
    healthy(tmp_path / "unit", maker="Northlake", product="Fen 14")
    return tmp_path


def ask(place: Path, typed: bytes, *arguments: object) -> Told:
    return call_in(place, "check", "--root", place / "unit", *arguments, typed=typed)


def written(place: Path) -> Report:
    (attempt,) = (place / "closeout-reports" / "no-order").iterdir()
    return load(attempt)


def answers(report: Report) -> list[tuple[str, Answer]]:
    return [(one.rule, one.answer) for one in report.findings if one.answer]


def replies(place: Path) -> list[tuple[Reply, str]]:
    return [(one.reply, one.reason) for _, one in answers(written(place))]


def test_what_is_answered_is_in_the_report_that_is_written(place: Path) -> None:
    told = ask(place, b"t17\nyes\nn\nno picture turns\n")
    assert told.code == 1
    report = written(place)
    assert report.revision == 1
    assert report.circumstances.handling.operator == "t17"
    (doubts, yes), (clock, no) = answers(report)
    assert (doubts, clock) == ("accelerometer.doubts", "clock.kept_time")
    assert (yes.reply, yes.by, yes.reason) == (Reply.YES, "t17", "answered at the console")
    assert (no.reply, no.by, no.reason) == (Reply.NO, "t17", "no picture turns")
    assert yes.at is not None
    assert (yes.at.text, yes.attempt) == ("2026-11-20T12:00:00Z", 1)
    assert told.out.count("HOLD") == 2
    assert "Question 1 of 2: Acceleration that may not be true (finding " in told.out
    assert told.out.index("A coin cell is") < told.out.index("do the seconds")
    assert "Left for later" not in told.out
    assert told.out.splitlines()[-2].startswith("Report: ")


def test_a_unit_that_only_a_person_can_prove_is_released_by_one(tmp_path: Path) -> None:
    healthy(tmp_path / "unit")
    profile = tmp_path / "own.toml"
    profile.write_text(OWN_PROFILE, "utf-8")
    check = ("check", "--root", tmp_path / "unit", "--profile", profile)
    assert call_in(tmp_path, *check).code == 3
    told = call_in(tmp_path, *check, typed=b"T1\nYES\n")
    assert told.code == 0
    assert told.out.index("UNDECIDED") < told.out.index("RELEASE")
    assert call_in(tmp_path, *check, typed=b"T1\nNO\n\n").code == 1
    reports = sorted((tmp_path / "closeout-reports" / "no-order").iterdir())
    verdicts = [load(attempt).verdict for attempt in reports]
    assert verdicts == [Verdict.UNDECIDED, Verdict.RELEASE, Verdict.HOLD]


OWN_PROFILE = """
profile = 1
id = "own/model"
revision = "1"
title = "One model"

[[demand]]
class = "clock"
weight = "must"
attribute = "kept_time"
one_of = ["universal", "local"]
"""


def test_what_a_repair_disturbed_is_asked_by_its_place_and_earns_the_release(
    tmp_path: Path,
) -> None:
    healthy(tmp_path / "unit")
    check = ("check", "--root", tmp_path / "unit", "--repair", "battery")
    told = call_in(tmp_path, *check, typed=b"T1\n" + b"YES\n" * 9)
    assert told.code == 0
    questions = told.out[told.out.index("Question 1 of ") :]
    assert "at plug of the battery pack, at the system board" in " ".join(questions.split())
    assert "no person has said it yet" not in questions
    (attempt,) = (tmp_path / "closeout-reports" / "no-order").iterdir()
    report = load(attempt)
    asked = [one for one in report.findings if one.rule.startswith("connection.")]
    assert len(asked) > 2
    assert all(one.answer and one.answer.reply is Reply.YES for one in asked)


@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        (b"t17\nno\n\nno\ndim\n", [(Reply.NO, "answered at the console"), (Reply.NO, "dim")]),
        (b"t17\n\nYES\n", [(Reply.YES, "answered at the console")]),
        (b"t17\n]C0NEXT\n]C0YES\n", [(Reply.YES, "answered at the console")]),
        (b"t17\nSTOP\n", []),
        (b"t17\nno\nstop\nyes\n", [(Reply.NO, "answered at the console")]),
        (b"t17\nno\nNO\nnext\n", [(Reply.NO, "answered at the console")]),
        (b"t17\nno", [(Reply.NO, "answered at the console")]),
        (b"t17\nyes\n", [(Reply.YES, "answered at the console")]),
        (b"t17\nwhat?\n\x1b[A\nyes\nstop\n", [(Reply.YES, "answered at the console")]),
        (b"t17\n", []),
        (b"\n", []),
        (b"", []),
        (b"STOP\nyes\n", []),
    ],
)  # fmt: skip
def test_each_word_does_what_it_says(
    place: Path, typed: bytes, expected: list[tuple[Reply, str]]
) -> None:
    told = ask(place, typed)
    assert told.code == 1
    assert replies(place) == expected
    assert ("Left for later, by closeout answer: " in told.out) == (len(expected) < 2)
    assert told.out.count("HOLD") == (2 if expected else 1)


def test_another_word_is_asked_again_in_one_line(place: Path) -> None:
    told = ask(place, b"t17\nperhaps\nyes\nstop\n")
    assert told.out.count("one of these words is wanted") == 1
    assert told.out.count(PROMPT) == 3


@pytest.mark.parametrize(
    ("reason", "wrong"),
    [
        (f"key {KEY}".encode(), "a text in the form of a licence key"),
        (b"x" * 301, "longer than 300 characters"),
        (b"\x1b]0;title", "one line without control characters"),
        (b"caf\xff\x00", "one line without control characters"),
    ],
)
def test_a_reason_that_cannot_stand_in_a_report_is_asked_again(
    place: Path, reason: bytes, wrong: str
) -> None:
    told = ask(place, b"t17\nno\n" + reason + b"\ndark\nstop\n")
    assert replies(place) == [(Reply.NO, "dark")]
    assert wrong in told.out
    assert told.out.count(SEEN) == 2
    (attempt,) = (place / "closeout-reports" / "no-order").iterdir()
    assert KEY not in told.out
    assert KEY.encode() not in (attempt / "report.json").read_bytes()


def test_a_code_that_cannot_stand_in_a_report_is_asked_again(place: Path) -> None:
    told = ask(place, b"x" * 41 + b"\nt17\nyes\nstop\n")
    assert told.out.count(CODE) == 2
    assert len(answers(written(place))) == 1


@pytest.mark.parametrize("option", ["--no-questions", "--quiet", "--json", "--draft"])
def test_nothing_is_asked_where_nobody_wants_it(place: Path, option: str) -> None:
    told = ask(place, b"t17\nyes\nyes\n", option)
    assert CODE not in told.out
    assert answers(written(place)) == []


def test_nothing_is_asked_without_a_terminal_on_both_sides(place: Path) -> None:
    check = ("check", "--root", place / "unit")
    for terminal in (True, False):
        told = call_in(place, *check, stdin=b"t17\nyes\n", terminal=terminal)
        assert CODE not in told.out
    assert all(
        not answers(load(one)) for one in (place / "closeout-reports" / "no-order").iterdir()
    )


def test_where_nothing_is_open_nothing_is_asked(tmp_path: Path) -> None:
    healthy(tmp_path / "unit")
    told = call_in(tmp_path, "check", "--root", tmp_path / "unit", typed=b"t17\nyes\n")
    assert (told.code, CODE in told.out) == (0, False)


def test_a_redacted_check_asks_without_showing_what_is_masked(place: Path) -> None:
    told = ask(place, b"t17\nyes\nno\nserial NW83KD20 is wrong\n", "--redact")
    assert "NW83KD20" not in told.out
    report = written(place)
    assert report.redacted
    assert [one.reply for _, one in answers(report)] == [Reply.YES, Reply.NO]
    assert "NW83KD20" not in answers(report)[1][1].reason


def test_a_terminal_that_goes_away_costs_no_answer(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def gone(_: Keyboard) -> str:
        lines = iter(("t17", "yes"))
        monkeypatch.setattr(Keyboard, "line", lambda _: fail(next(lines, "")))
        return next(lines)

    def fail(line: str) -> str:
        if line:
            return line
        raise OSError(5, "the terminal is gone")

    monkeypatch.setattr(Keyboard, "line", gone)
    ask(place, b"")
    assert [reply for reply, _ in replies(place)] == [Reply.YES]


def test_what_was_typed_before_a_question_is_forgotten() -> None:
    mine, theirs = pty.openpty()
    slept: list[float] = []
    with os.fdopen(theirs, "rb") as stream:
        keyboard = Keyboard(stream, slept.append)
        os.write(mine, b"too early\n")
        keyboard.forget()
        os.write(mine, b"in time\r")
        assert keyboard.line() == "in time"
        assert len(slept) == 1
    os.close(mine)


def test_a_file_has_nothing_to_forget(tmp_path: Path) -> None:
    (tmp_path / "lines").write_bytes(b"first\nlast")
    with (tmp_path / "lines").open("rb") as stream:
        keyboard = Keyboard(stream, lambda _: None)
        keyboard.forget()
        assert [keyboard.line() for _ in range(3)] == ["first", "last", None]


@pytest.mark.parametrize("number", [signal.SIGHUP, signal.SIGTERM])
def test_a_request_to_end_stops_the_asking_and_is_let_be_afterwards(
    number: signal.Signals,
) -> None:
    before = {each: signal.getsignal(each) for each in ENDINGS}
    try:
        with pytest.raises(KeyboardInterrupt), hang_up_as_stop():
            signal.raise_signal(number)
        os.kill(os.getpid(), number)
        assert all(signal.getsignal(each) is signal.SIG_IGN for each in ENDINGS)
    finally:
        for each, handler in before.items():
            signal.signal(each, handler)
    with hang_up_as_stop():
        pass
    assert {each: signal.getsignal(each) for each in ENDINGS} == before
