"""Bitmaps of switches, and the question for those that are set."""

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.failure import DecodeError
from closeout.decode.input_switches import (
    decode_switches,
    encode_switches,
    parse_switches_question,
    switches_question,
)


@given(st.frozensets(st.integers(min_value=0, max_value=127)))
def test_what_is_written_is_read_back(codes: frozenset[int]) -> None:
    state = sum(1 << code for code in codes).to_bytes(16, "little")
    assert decode_switches(encode_switches(state)) == codes


@pytest.mark.parametrize(
    ("raw", "codes"),
    [(b"1\n", {0}), (b"140\n", {6, 8}), (b"14\n", {2, 4}), (b"0\n", set()), (b"1 0\n", {64})],
)
def test_bitmaps_as_sysfs_writes_them(raw: bytes, codes: set[int]) -> None:
    """Lid; a screen's socket; a headset's jack; none; the second word stands first."""
    assert decode_switches(raw) == codes


@pytest.mark.parametrize("raw", [b"", b"\n", b"xyz\n", b"12345678901234567\n", b"-1\n", b"0 " * 17])
def test_what_is_no_bitmap_is_refused(raw: bytes) -> None:
    with pytest.raises(DecodeError):
        decode_switches(raw)


@given(st.binary(max_size=100))
def test_any_bytes_give_codes_or_one_error(raw: bytes) -> None:
    with suppress(DecodeError):
        decode_switches(raw)


def test_the_question_names_its_device() -> None:
    assert parse_switches_question(switches_question("event12")) == "event12"


@pytest.mark.parametrize(
    "question",
    ["input switches ../event1", "input switches mouse0", "input switches event1 ", "switches"],
)
def test_another_question_is_none(question: str) -> None:
    assert parse_switches_question(question) is None
