"""What a clock showed and when: our own JSON there and back."""

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.clock_tick import (
    ClockTick,
    decode_tick,
    encode_tick,
    parse_tick_question,
    tick_question,
)
from closeout.decode.failure import DecodeError

numbers = st.integers(0, 1 << 62)


@given(st.builds(ClockTick, shown=numbers, microseconds=numbers, ticked=st.booleans()))
def test_a_tick_is_read_back(tick: ClockTick) -> None:
    assert decode_tick(encode_tick(tick)) == tick


@given(st.binary())
def test_any_bytes_are_a_tick_or_one_error(raw: bytes) -> None:
    with suppress(DecodeError):
        assert decode_tick(raw).shown >= 0


@pytest.mark.parametrize(
    "raw",
    [
        b"[]",
        b"{}",
        b"[" * 100_000,
        b'{"shown":1,"microseconds":2}',
        b'{"shown":1,"microseconds":2,"ticked":1}',
        b'{"shown":true,"microseconds":2,"ticked":true}',
        b'{"shown":-1,"microseconds":2,"ticked":true}',
        b'{"shown":1,"microseconds":2.5,"ticked":true}',
        b'{"shown":4611686018427387905,"microseconds":2,"ticked":true}',
    ],
)
def test_what_is_no_tick_is_refused(raw: bytes) -> None:
    with pytest.raises(DecodeError):
        decode_tick(raw)


def test_only_the_name_of_a_clock_makes_a_question() -> None:
    assert parse_tick_question(tick_question("rtc0")) == "rtc0"
    for wrong in ("clock tick", "clock tick rtc", "clock tick ../x", "clock tick rtc0/../x", ""):
        assert parse_tick_question(wrong) is None
