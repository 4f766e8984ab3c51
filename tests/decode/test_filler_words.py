"""The words that placeholders are made of, and how far from them a text may be."""

from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.filler_reference import BATTERY_VALUES, IDENTITY_VALUES, PLATFORM_VALUES
from closeout.decode.filler_vocabulary import PARTICULARS, PHRASES, THINGS, VOCABULARY
from closeout.decode.filler_words import distance_at_most, split_word, words_of

MOST_REFERENCE_VALUES = 30
LETTERS = st.text(alphabet="abcde", max_size=8)


def plain_distance(first: str, second: str) -> int:
    """Optimal string alignment distance straight from its recursive definition."""
    if not first or not second:
        return len(first) + len(second)
    ways = [
        plain_distance(first[1:], second) + 1,
        plain_distance(first, second[1:]) + 1,
        plain_distance(first[1:], second[1:]) + (first[0] != second[0]),
    ]
    if first[:2] == second[:2][::-1] and len(first) > 1 and len(second) > 1:
        ways.append(plain_distance(first[2:], second[2:]) + 1)
    return min(ways)


@given(st.text(alphabet="abc", max_size=5), st.text(alphabet="abc", max_size=5))
def test_distance_agrees_with_its_definition(first: str, second: str) -> None:
    distance = plain_distance(first, second)
    assert distance_at_most(first, second, distance)
    assert distance == 0 or not distance_at_most(first, second, distance - 1)


@given(LETTERS, LETTERS, st.integers(min_value=0, max_value=4))
def test_distance_has_no_direction(first: str, second: str, limit: int) -> None:
    assert distance_at_most(first, second, limit) == distance_at_most(second, first, limit)


@given(st.lists(st.sampled_from(sorted(VOCABULARY)), min_size=1, max_size=5))
def test_words_written_as_one_are_found(words: list[str]) -> None:
    joined = "".join(word for word in words if word.isalpha())
    split = split_word(joined) if joined else ()
    assert split is not None
    assert "".join(split) == joined


@given(st.sampled_from(sorted(THINGS)), st.sampled_from(sorted(PARTICULARS)))
def test_words_are_told_apart_by_punctuation(thing: str, particular: str) -> None:
    assert words_of(f"{thing}_{particular}") is not None


def test_a_real_word_is_no_vocabulary() -> None:
    assert words_of("aspire") is None
    assert split_word("pny") is None


def test_reference_values_stay_few() -> None:
    """What a rule can say belongs to a rule, not to the table."""
    assert len(BATTERY_VALUES | IDENTITY_VALUES | PLATFORM_VALUES) <= MOST_REFERENCE_VALUES


def test_phrases_are_letters_alone() -> None:
    assert all(phrase.isalpha() and phrase == phrase.casefold() for phrase in PHRASES)
