"""The lists of `proc/asound`."""

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.failure import DecodeError
from closeout.decode.sound_lists import (
    NamedCard,
    Stream,
    decode_cards,
    decode_stream_state,
    decode_streams,
    purpose_of,
)
from strategies.sound import build_cards, build_streams

words = st.from_regex(r"[A-Za-z0-9]{1,6}( [A-Za-z0-9]{1,6}){0,2}", fullmatch=True)
numbers = st.integers(min_value=0, max_value=31)
cards = st.lists(
    st.tuples(numbers, st.from_regex(r"[A-Za-z0-9_]{1,15}", fullmatch=True), words, words),
    max_size=4,
)
counts = st.integers(min_value=0, max_value=32)
streams = st.lists(st.tuples(numbers, numbers, words, counts, counts), max_size=6)


@given(cards)
def test_cards_are_read_back(plan: list[tuple[int, str, str, str]]) -> None:
    assert decode_cards(build_cards(plan)) == tuple(
        NamedCard(number=number, identifier=identifier, name=name, long_name=long_name)
        for number, identifier, name, long_name in plan
    )


@given(streams)
def test_streams_are_read_back(plan: list[tuple[int, int, str, int, int]]) -> None:
    assert decode_streams(build_streams(plan)) == tuple(
        Stream(card=card, device=device, identifier=name, playback=playback, capture=capture)
        for card, device, name, playback, capture in plan
    )


@given(st.binary(max_size=300))
def test_any_bytes_give_lists_or_one_error(raw: bytes) -> None:
    for decode in (decode_cards, decode_streams):
        with suppress(DecodeError):
            decode(raw)
    decode_stream_state(raw)


def test_a_card_without_its_second_line_has_an_empty_long_name() -> None:
    (card,) = decode_cards(b" 0 [Fen            ]: HDA-Fen - HDA Fen\n")
    assert (card.name, card.long_name) == ("HDA Fen", "")


@pytest.mark.parametrize("decode", [decode_cards, decode_streams])
def test_another_text_is_refused(decode: object) -> None:
    assert callable(decode)
    with pytest.raises(DecodeError):
        decode(b"nothing of that sort\n")


def test_the_state_of_a_stream_is_by_name() -> None:
    raw = b"card: 0\nid: Fen Analog\nsubname: subdevice #0\nsubdevices_count: 1\nno mark\n"
    told = decode_stream_state(raw)
    assert (told["id"], told["subdevices_count"]) == ("Fen Analog", "1")
    assert len(told) == 4


@pytest.mark.parametrize(
    ("identifier", "purpose"),
    [
        ("HDMI 0", "display"),
        ("HDMI1", "display"),
        ("HDMI 3", "display"),
        ("DP", "display"),
        ("iDisp1", "display"),
        ("DMIC (*)", "digital microphone"),
        ("DMIC16kHz (*)", "digital microphone"),
        ("HDA Analog (*)", "general"),
        ("Generic Analog", "general"),
        ("USB Audio", "general"),
        ("Jack Out", "general"),
        ("dmic-hifi", "digital microphone"),
    ],
)
def test_drivers_words_for_what_a_device_is_for(identifier: str, purpose: str) -> None:
    assert purpose_of(identifier) == purpose
