"""What may act on a reader's eye or terminal is spelled out, and nothing is lost silently."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.report.foreign import can_encode, fit_encoding, make_safe

any_text = st.text(st.characters())


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("SN-4711 µ ä 日本", "SN-4711 µ ä 日本"),
        ("a\nb\tc\0d", r"a\x0ab\x09c\x00d"),
        ("\x1b]0;title\x07", r"\x1b]0;title\x07"),
        ("\x9b31m\x7f", r"\x9b31m\x7f"),
        ("gpj.\u202eexe", r"gpj.\u202eexe"),
        ("\u2066in\u2069 \u200b\ufeff", r"\u2066in\u2069 \u200b\ufeff"),
        ("one\u2028two\u2029", r"one\u2028two\u2029"),
        ("\udcff", r"\udcff"),
        ("\ue000 \U000e0041", r"\ue000 \U000e0041"),
        ("no\xa0break", r"no\xa0break"),
        ("\u3164\u2800\ufe0f", r"\u3164\u2800\ufe0f"),
        ("e\u0301\u0302\u0303\u0304", "e\u0301\u0302" + r"\u0303\u0304"),
        ("\u0301x", r"\u0301x"),
        (r"C:\new", r"C:\new"),
        ("", ""),
    ],
)
def test_what_is_hidden_becomes_visible(text: str, shown: str) -> None:
    assert make_safe(text) == shown


def test_a_cut_is_marked() -> None:
    assert make_safe("x" * 30, longest=20) == "x" * 20 + " [only 20 of 30 characters shown]"
    assert make_safe("x" * 20, longest=20) == "x" * 20


@given(any_text)
def test_nothing_that_acts_is_left(text: str) -> None:
    safe = make_safe(text)
    left = {unicodedata.category(character) for character in safe}
    assert not left & {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}
    assert "\n" not in safe
    safe.encode("utf-8")


@given(any_text)
def test_safe_text_stays_as_it_is(text: str) -> None:
    once = make_safe(text)
    assert make_safe(once) == once


@given(any_text, st.sampled_from(["ascii", "latin-1", "cp437", "utf-8"]))
def test_the_stream_can_take_it(text: str, encoding: str) -> None:
    fit_encoding(make_safe(text), encoding).encode(encoding)


def test_own_units_stay_readable_in_ascii() -> None:
    assert fit_encoding("45 µWh", "ascii") == "45 uWh"
    assert fit_encoding("45 µWh", "latin-1") == "45 µWh"
    assert fit_encoding("✔", "ascii") == r"\u2714"


def test_an_unknown_encoding_takes_ascii() -> None:
    assert can_encode("x", "no-such-encoding")
    assert not can_encode("é", "no-such-encoding")
    assert fit_encoding("é", "no-such-encoding") == r"\xe9"
