"""Bitmaps of input devices: worked values, built ones, both word sizes, and any text."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.failure import DecodeError
from closeout.decode.input_bits import decode_bits, decode_modalias, find_word_bits
from strategies.inputs import AT_KEYS, KEYS_ARE_LISTED_FROM, build_bits, build_modalias

WORD_SIZES = st.sampled_from([32, 64])
KEYS = st.frozensets(st.integers(0, 0x2FF))


def test_keys_of_a_ps2_keyboard() -> None:
    """Read from Linux 6.1 and counted with evtest: 145 keys, 86 among them, 84 not."""
    keys = decode_bits(AT_KEYS, 64)
    assert (len(keys), min(keys), max(keys)) == (145, 1, 226)
    assert 84 not in keys
    assert {85, 86, 125} <= keys


@pytest.mark.parametrize("text", ["", " ", "xyz", "-1", "1 0x2", "1" * 17, "0 " * 65])
def test_what_is_no_bitmap(text: str) -> None:
    with pytest.raises(DecodeError) as caught:
        decode_bits(text, 64)
    assert caught.value.what == "bitmap"


def test_word_that_a_short_kernel_cannot_write() -> None:
    assert decode_bits("100000000 0", 64) == {96}
    with pytest.raises(DecodeError, match="32 bits"):
        decode_bits("0 100000000", 32)


@given(KEYS, WORD_SIZES)
def test_what_is_built_decodes_to_what_it_was_built_from(
    keys: frozenset[int], word_bits: int
) -> None:
    assert decode_bits(build_bits(keys, word_bits), word_bits) == keys


@given(st.text(max_size=60), WORD_SIZES)
def test_any_text_gives_numbers_or_an_error(text: str, word_bits: int) -> None:
    offset = offset_of_failure(text, word_bits)
    if offset is None:
        assert all(number >= 0 for number in decode_bits(text, word_bits))
    else:
        assert 0 <= offset <= len(text)


def offset_of_failure(text: str, word_bits: int) -> int | None:
    try:
        decode_bits(text, word_bits)
    except DecodeError as failure:
        return failure.offset
    return None


@given(KEYS, KEYS)
def test_modalias_lists_what_it_was_built_from(keys: frozenset[int], axes: frozenset[int]) -> None:
    lists = decode_modalias(build_modalias({"k": keys, "a": axes}))
    assert lists["k"] == {key for key in keys if key >= KEYS_ARE_LISTED_FROM}
    assert lists["a"] == axes


@given(st.text())
def test_any_modalias_decodes(text: str) -> None:
    assert isinstance(decode_modalias(text), dict)
    assert isinstance(decode_modalias(f"input:b-{text}"), dict)


@pytest.mark.parametrize("word_bits", [32, 64])
def test_touchpad_whose_words_are_all_short_is_told_by_its_modalias(word_bits: int) -> None:
    """`e520 10000 0 0 0 0` is a touchpad of 64 bits; of 32 it would have keys nobody has."""
    bits = {"k": {0x110, 0x145, 0x148, 0x14A, 0x14D, 0x14E, 0x14F}, "a": {0, 1, 0x35, 0x36}}
    bitmaps = {letter: build_bits(numbers, word_bits) for letter, numbers in bits.items()}
    assert find_word_bits(bitmaps, decode_modalias(build_modalias(bits))) == word_bits


def test_without_a_word_of_the_modalias_the_kernel_is_of_today() -> None:
    assert find_word_bits({"k": "1 0"}, {}) == 64
    assert find_word_bits({"k": "no bitmap"}, {}) == 64
    assert find_word_bits({"k": "1"}, {"k": frozenset({500})}) == 64
