"""What a scanner typed, to the text of the bar code."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.expect.scan import (
    SHOWN_BY_LAYOUT,
    US_KEYS,
    Ambiguous,
    Settled,
    read_as,
    settle,
    tidy,
    type_on,
    undo,
)
from oracles import xkb_layout

NAMES = {
    "German": "de",
    "Swiss": "ch",
    "French": "fr",
    "Spanish": "es",
    "Italian": "it",
    "Swedish": "se",
}
LAYOUTS = st.sampled_from(list(SHOWN_BY_LAYOUT))
CODES = st.text(alphabet=US_KEYS[:-2], min_size=1, max_size=24).map(str.strip).filter(bool)
ONE_SPACE = st.text(alphabet=US_KEYS, max_size=24)


def same(wanted: str):  # noqa: ANN201 - a predicate
    return lambda text: text == wanted


@given(LAYOUTS, ONE_SPACE)
def test_undoing_a_layout_gives_what_was_typed_on_it(layout: str, text: str) -> None:
    assert undo(layout, type_on(layout, text)) == text


@given(LAYOUTS, st.text())
def test_undoing_takes_any_text(layout: str, typed: str) -> None:
    undone = undo(layout, typed)
    assert undone is None or len(undone) == len(typed)


@given(st.text())
def test_tidying_takes_any_text_and_does_nothing_twice(typed: str) -> None:
    once = tidy(typed)
    assert tidy(once) == once
    assert once.isprintable()
    assert once == once.strip()


@given(CODES, st.sampled_from(["", "]C0", "]C1", "]d2", "\x02", " \t", "\x1b[A"]))
def test_what_stands_around_a_code_is_left_out(code: str, before: str) -> None:
    for end in ("", "\r", "\n", "\r\n", "\x03\r\n", "\t"):
        assert tidy(f"{before}{code}{end}") == tidy(code)


@given(LAYOUTS, CODES, st.sampled_from(["", "]C0"]))
def test_a_foreign_layout_is_undone_for_the_one_text_that_agrees(
    layout: str, code: str, mark: str
) -> None:
    settled = settle(type_on(layout, mark + code), same(code))
    assert isinstance(settled, Settled)
    assert settled.text == code


@given(CODES)
def test_what_agrees_as_it_stands_is_never_undone(code: str) -> None:
    assert settle(code, lambda _: True) == Settled(text=code)


@given(CODES)
def test_the_other_case_agrees_before_a_layout(code: str) -> None:
    settled = settle(code.swapcase(), same(code))
    assert isinstance(settled, Settled)
    assert (settled.text, settled.layout) == (code, "")


@given(st.text())
def test_settling_takes_any_text(typed: str) -> None:
    assert settle(typed, lambda _: False) is None
    settled = settle(typed, str.isalnum)
    if isinstance(settled, Settled):
        assert settled.text.isalnum()


@pytest.mark.parametrize(
    ("typed", "orders", "expected"),
    [
        ("WO-20417", {"WO-20417"}, Settled(text="WO-20417")),
        ("wo-20417", {"WO-20417"}, Settled(text="WO-20417")),
        ("WOß20417", {"WO-20417"}, Settled(text="WO-20417", layout="German")),
        ("woß20417", {"WO-20417"}, Settled(text="WO-20417", layout="German")),
        ("+C0WOß20417", {"WO-20417"}, Settled(text="WO-20417", layout="German")),
        ("ZO)éà'&è", {"WO-20417"}, Settled(text="WO-20417", layout="French")),
        ("WO+20417", {"WO-20417"}, Settled(text="WO-20417", layout="Swedish")),
        ('"C0WO+20417', {"WO-20417"}, Settled(text="WO-20417", layout="Swedish")),
        ("YZ1", {"YZ1", "ZY1"}, Settled(text="YZ1")),
        ("YZ1", {"ZY1"}, Settled(text="ZY1", layout="German")),
        ("WOß1", {"WOSS1", "WO-1"}, Settled(text="WO-1", layout="German")),
        ("Ab1", {"AB1", "ab1"}, Ambiguous(texts=("AB1", "ab1"))),
        ("X'YZ", {"X-YZ", "X-ZY"}, Ambiguous(texts=("X-YZ", "X-ZY"))),
        ("X'AB", {"X-AB"}, Settled(text="X-AB", layout="Swiss")),
        ("WO-1", {"WO-2"}, None),
        ("", {"WO-2"}, None),
        ("\x02 \r\n", {""}, None),
    ],
)
def test_which_text_is_meant(
    typed: str, orders: set[str], expected: Settled | Ambiguous | None
) -> None:
    assert settle(typed, orders.__contains__) == expected


@pytest.mark.parametrize(
    ("layout", "typed", "expected"),
    [
        ("", "]C0T17\r", "T17"),
        ("German", "Tß17", "T-17"),
        ("German", "T~17", "T~17"),
        ("French", "", ""),
    ],
)
def test_a_code_that_nothing_can_agree_with_goes_by_the_layout_of_the_order(
    layout: str, typed: str, expected: str
) -> None:
    assert read_as(layout, typed) == expected


@pytest.mark.oracle
@pytest.mark.skipif(bool(xkb_layout.reason_to_skip()), reason=xkb_layout.reason_to_skip())
@pytest.mark.parametrize("layout", SHOWN_BY_LAYOUT)
def test_the_table_is_what_the_system_shows(layout: str) -> None:
    places = {character: place for place, character in xkb_layout.characters("us").items()}
    shown = xkb_layout.characters(NAMES[layout])
    told = "".join(shown[places[character]] for character in US_KEYS)
    assert told == SHOWN_BY_LAYOUT[layout]
