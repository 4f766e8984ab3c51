"""Readings keep their reason through every change."""

import pytest

from closeout.model.inventory import Inventory
from closeout.model.reading import (
    Absent,
    Blank,
    Filler,
    NoValue,
    Unreadable,
    Value,
    combine,
    convert,
    state_of,
)

SEVEN = Value(value=7, sources=("a",))
TWO = Value(value=2, sources=("b",))
WITHOUT: tuple[NoValue, ...] = (
    Blank(reason="spaces", sources=("c",)),
    Filler(text="Default string", reason="a phrase", sources=("c",)),
    Absent(reason="no file", sources=("c",)),
    Unreadable(error="EIO", advice="read again", sources=("c",)),
)


def test_each_state_has_its_word() -> None:
    words = [state_of(reading) for reading in (SEVEN, *WITHOUT)]
    assert words == ["value", "blank", "filler", "absent", "unreadable"]


def test_a_value_is_changed_and_keeps_its_sources() -> None:
    assert convert(SEVEN, str) == Value(value="7", sources=("a",))


@pytest.mark.parametrize("reading", WITHOUT, ids=state_of)
def test_what_has_no_value_passes_through(reading: NoValue) -> None:
    assert convert(reading, str) is reading
    assert combine(reading, TWO, max) is reading
    assert combine(TWO, reading, max) is reading


def test_two_values_rest_on_the_sources_of_both() -> None:
    assert combine(SEVEN, TWO, lambda a, b: a - b) == Value(value=5, sources=("a", "b"))


def test_a_kind_that_nobody_read_is_unreadable_and_not_empty() -> None:
    section = Inventory(sections=()).section("battery")
    assert isinstance(section.listing, Unreadable)
    assert section.devices == ()
