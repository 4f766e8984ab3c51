"""The four words, however keyboard and scanner bring them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.cli.typed_word import Word, read_word


@pytest.mark.parametrize(
    ("typed", "word"),
    [
        ("y", Word.YES),
        ("Yes", Word.YES),
        (" YES ", Word.YES),
        ("]C0YES", Word.YES),
        ("]c1yes", Word.YES),
        ("+C0ZES", Word.YES),
        ("$CàYES", Word.YES),
        ("zes", Word.YES),
        ("n", Word.NO),
        ("no", Word.NO),
        ("]C0NO\r", Word.NO),
        ("", Word.NEXT),
        ("  ", Word.NEXT),
        ("next", Word.NEXT),
        ("]C0NEXT", Word.NEXT),
        ("STOP", Word.STOP),
        ("]C0stop", Word.STOP),
    ],
)
def test_a_word_is_known_in_every_form(typed: str, word: Word) -> None:
    assert read_word(typed) is word


@pytest.mark.parametrize("typed", ["ja", "yes!", "yesyes", "]C0", "no yes", "\x1b[A", "q", "yno"])
def test_anything_else_is_no_word(typed: str) -> None:
    assert read_word(typed) is None


@given(st.text(max_size=12))
def test_only_texts_with_a_word_at_their_end_are_one(typed: str) -> None:
    ends = ("", "y", "n", "zes", "yes", "no", "next", "stop")
    word = read_word(typed)
    assert word is None or any(typed.strip().lower().endswith(end) for end in ends)
