"""Bar codes are read back by a reader that is not ours, whatever the text."""

import string

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.model.handling import LONGEST_BAR_CODE, fits_bar_code
from closeout.report.bar_code import QUIET, bars_of, draw_code_128, modules_of
from strategies.drawn_bars import read_bars

texts = st.text(string.ascii_letters + string.digits + string.punctuation + " ", min_size=1)


@pytest.mark.wheel_oracle
@given(texts.filter(lambda text: len(text) <= LONGEST_BAR_CODE))
def test_a_drawn_code_is_read_back(text: str) -> None:
    assert read_bars(draw_code_128(text)) == [text]


def test_a_code_has_its_standards_start_stop_and_quiet_zones() -> None:
    """ISO/IEC 15417: start B is 11010010000, stop 1100011101011; ten modules of quiet."""
    row = modules_of("NL7QK42D")
    assert row.startswith("11010010000")
    assert row.endswith("1100011101011")
    drawn = draw_code_128("NL7QK42D")
    assert f'viewBox="0 0 {len(row) + 2 * QUIET} 1"' in drawn
    assert f'<rect x="{QUIET}" width="2" height="1"/>' in drawn


@given(st.text(alphabet="01", max_size=40))
def test_bars_are_where_the_modules_are(row: str) -> None:
    again = ["0"] * len(row)
    for place, width in bars_of(row):
        again[place : place + width] = "1" * width
    assert "".join(again) == row
    assert all(row[place - 1 : place] != "1" for place, _ in bars_of(row))


@pytest.mark.parametrize("text", ["", "Größe", "a\tb", "x" * (LONGEST_BAR_CODE + 1)])
def test_what_no_code_holds_is_not_drawn(text: str) -> None:
    assert not fits_bar_code(text)
    assert draw_code_128(text) == ""
    with pytest.raises(ValueError, match="no text that a bar code holds"):
        modules_of(text)


def test_a_code_never_breaks_out_of_its_drawing() -> None:
    assert "<script" not in draw_code_128('<script>"&')
