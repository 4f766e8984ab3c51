"""Words for words: whole ones, the longest first, fields of fixed width kept, and back again."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from notebook.words import NoRoomError, Words

LISTED = {
    "Maker Drive": "Peat P40",
    "Maker_Drive": "Peat_P40",
    "Maker": "Fen",
    "a1:b2": "fe11:01",
    "+build-7": "-demo",
    "virtual/radio0": "platform/fenradio.0",
}
THERE, BACK = Words(LISTED), Words({new: old for old, new in LISTED.items()})
NEUTRAL = st.text(alphabet="xyz09 ._-\n", max_size=4)
SEPARATOR = st.sampled_from([":", "/", "_", ".", "\n", " x "])
PIECES = st.lists(st.tuples(st.sampled_from(sorted(LISTED)) | NEUTRAL, SEPARATOR), max_size=8)


@pytest.mark.parametrize(
    ("text", "replaced"),
    [
        ("Maker Drive", "Peat P40"),
        ("by-id/nvme-Maker_Drive_PS1", "by-id/nvme-Peat_P40_PS1"),
        ("Makers, aMaker, Maker1", "Makers, aMaker, Maker1"),
        ("Maker, Inc.", "Fen, Inc."),
        ("0xa1:b2f a1:b2", "0xa1:b2f fe11:01"),
        ("6.12.1+build-7 #1", "6.12.1-demo #1"),
        ("", ""),
    ],
)
def test_a_whole_word_is_replaced_the_longest_first(text: str, replaced: str) -> None:
    assert THERE.replaced(text) == replaced
    assert Words(dict(reversed(LISTED.items()))).replaced(text) == replaced


def test_a_padded_field_keeps_its_width() -> None:
    words = Words({"Maker": "Peatstone P40"})
    assert words.replaced("Maker".ljust(40) + "\n") == "Peatstone P40".ljust(40) + "\n"
    assert words.replaced("Maker".ljust(40)) == "Peatstone P40".ljust(40)
    assert words.replaced("Maker  and more\n") == "Peatstone P40  and more\n"
    assert words.replaced("Maker\n") == "Peatstone P40\n"


def test_a_padded_field_that_is_too_narrow_is_an_error() -> None:
    with pytest.raises(NoRoomError, match="'Peatstone P40' does not fit into the 13 places"):
        Words({"Maker": "Peatstone P40"}).replaced("Maker".ljust(13))


def test_the_first_word_is_told() -> None:
    assert THERE.first_in("a Maker Drive") == "Maker Drive"
    assert THERE.first_in("nothing") is None
    assert Words({}).first_in("nothing") is None


@given(PIECES)
def test_there_and_back_again(pieces: list[tuple[str, str]]) -> None:
    text = "".join(map("".join, pieces))
    there = THERE.replaced(text)
    assert THERE.first_in(there) is None
    assert THERE.replaced(there) == there
    assert BACK.replaced(there) == text


@given(st.sampled_from(sorted(LISTED)), st.integers(min_value=20, max_value=40))
def test_there_and_back_again_in_a_field(word: str, width: int) -> None:
    field = word.ljust(width) + "\n"
    assert len(THERE.replaced(field)) == len(field)
    assert BACK.replaced(THERE.replaced(field)) == field
