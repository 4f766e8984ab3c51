"""The page about answers, written by hand: its commands are ours, and so are its refusals."""

import re
import shlex

import pytest

from closeout.cli import recorded_attempt, typed_text
from closeout.cli.main import make_parser
from closeout.cli.typed_word import Word, read_word
from closeout.judge import saying
from generate_manual import FOLDER

PAGE = (FOLDER / "answers.md").read_text("utf-8")
REFUSALS = (
    *(saying.NOTHING_TO_ANSWER, saying.IS_PROVEN, saying.NOBODY_MAY, saying.NOTHING_TO_CONCEDE),
    *(recorded_attempt.NEWER, recorded_attempt.REDACTED, recorded_attempt.DRAFT),
    *(recorded_attempt.COPY, typed_text.KEY_FOUND),
)


@pytest.mark.parametrize("line", re.findall(r"^closeout .*", PAGE, re.MULTILINE))
def test_each_command_of_the_page_is_one(line: str) -> None:
    _, *arguments = shlex.split(line)
    assert make_parser().parse_args(arguments).command == arguments[0]


def test_each_refusal_of_the_page_is_said_by_the_program() -> None:
    rows = re.findall(
        r"^\| ([^|]+) \| [^|]+ \|$", PAGE.split("## What is refused")[1], re.MULTILINE
    )
    told = [row for row in rows if row not in {"said", "---"}]
    assert len(told) == len(REFUSALS)
    for row in told:
        assert any(refusal.startswith(row) for refusal in REFUSALS), row


def test_each_word_of_the_page_is_known_and_none_is_left_out() -> None:
    rows = re.findall(r"^\| ((?:`\w+`|Enter)(?:, (?:`\w+`))*) \|", PAGE, re.MULTILINE)
    known = [{read_word(word) for word in re.findall(r"`(\w+)`", row)} for row in rows]
    assert known == [{Word.YES}, {Word.NO}, {Word.NEXT}, {Word.STOP}]
    assert read_word("") is Word.NEXT
