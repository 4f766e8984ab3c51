"""Words in brackets, as power supplies list what can be chosen."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.bracketed import parse_chosen


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("[auto] inhibit-charge force-discharge", "auto"),
        ("auto [inhibit-charge] force-discharge", "inhibit-charge"),
        ("Fast [Long Life]", "Long Life"),
        ("Standard", "Standard"),
    ],
)
def test_the_word_in_force(text: str, word: str) -> None:
    assert parse_chosen(text) == word


@pytest.mark.parametrize("text", ["", " ", "[auto", "auto]", "[a] [b]", "[]", "[ ]", "[[a]]x]"])
def test_without_one_word_in_force_nothing_is_told(text: str) -> None:
    assert parse_chosen(text) is None


@given(st.lists(st.from_regex(r"[A-Za-z-]+", fullmatch=True), min_size=1, unique=True), st.data())
def test_any_list_gives_its_chosen_word(words: list[str], data: st.DataObject) -> None:
    chosen = data.draw(st.sampled_from(words))
    shown = " ".join(f"[{word}]" if word == chosen else word for word in words)
    assert parse_chosen(shown) == chosen
