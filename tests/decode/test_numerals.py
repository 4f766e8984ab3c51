"""Numbers as kernel files write them."""

from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.numerals import parse_hexadecimal, parse_release, parse_whole


@given(st.integers(min_value=-(10**29), max_value=10**29))
def test_a_whole_number_is_read_back(number: int) -> None:
    assert parse_whole(f"{number}") == number


def test_what_is_no_whole_number_is_none() -> None:
    assert [parse_whole(text) for text in ("", "-", "1.5", "0x10", "1 2", "\u0661", "9" * 31)] == [
        None
    ] * 7


@given(st.integers(min_value=0, max_value=0xFFFF))
def test_hexadecimal_of_four_digits_is_read_with_and_without_its_mark(number: int) -> None:
    wanted = f"{number:04x}"
    assert parse_hexadecimal(f"0x{number:04X}", 4) == wanted
    assert parse_hexadecimal(f"{number:04x}\n", 4) == wanted


def test_hexadecimal_of_another_width_is_none() -> None:
    assert parse_hexadecimal("0x808", 4) is None
    assert parse_hexadecimal("80866", 4) is None
    assert parse_hexadecimal("80g6", 4) is None


def test_a_release_number_keeps_its_minor_digits() -> None:
    """USB 2.0, section 9.6.1: 0213h is release 2.13."""
    assert parse_release("0213") == "2.13"
    assert parse_release("0001") == "0.01"
    assert parse_release("1000") == "10.00"
    assert parse_release("213") is None


@given(st.text())
def test_any_text_gives_an_answer(text: str) -> None:
    parse_whole(text)
    parse_release(text)
    found = parse_hexadecimal(text, 2)
    assert found is None or len(found) == 2
