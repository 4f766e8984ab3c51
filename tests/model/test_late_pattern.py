"""Patterns that are compiled when they are first tried do what compiled ones do."""

import gc
import re
from importlib import import_module
from pkgutil import walk_packages

import pytest

import closeout
from closeout.model.late_pattern import LatePattern, late_pattern

FEWEST = 200
NOT_TO_IMPORT = ("__main__", "migrations.env")
"""What runs when it is imported, or is loaded by a library that hands something in."""


def test_is_a_pattern_to_whoever_tries_it() -> None:
    form = late_pattern(r"(card)\d+", re.IGNORECASE)
    found = form.fullmatch("Card12")
    assert found is not None
    assert found[1] == "Card"
    assert form.sub("-", "card1 card2") == "- -"
    assert form.pattern == r"(card)\d+"
    assert form.flags & re.IGNORECASE


def test_takes_bytes() -> None:
    assert late_pattern(rb"\d+").findall(b"1 of 20") == [b"1", b"20"]


def test_is_not_compiled_before_it_is_tried() -> None:
    form = late_pattern("(")
    with pytest.raises(re.error, match="missing \\)"):
        form.search("anything")


def test_has_nothing_that_a_pattern_has_not() -> None:
    with pytest.raises(AttributeError, match="no attribute 'find'"):
        late_pattern("a").find  # type: ignore[attr-defined]  # noqa: B018


@pytest.mark.wheel_oracle
def test_every_pattern_of_the_program_compiles() -> None:
    for module in walk_packages(closeout.__path__, "closeout."):
        if not module.name.endswith(NOT_TO_IMPORT):
            import_module(module.name)
    known = [each for each in gc.get_objects() if type(each) is LatePattern and each.pattern != "("]
    assert len(known) >= FEWEST
    for each in known:
        re.compile(each.pattern, each.flags)
