"""JSON as it is written: what the standard library would write, with nothing hidden in it."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.report.json_text import dump_json, parse_json

TEXTS = st.text(alphabet=st.characters(min_codepoint=0x20, max_codepoint=0x7E))
TREES = st.recursive(
    st.none() | st.booleans() | st.integers() | TEXTS,
    lambda inner: st.lists(inner) | st.dictionaries(TEXTS, inner),
    max_leaves=30,
)


@given(TREES)
def test_it_is_laid_out_as_by_the_standard_library(tree: object) -> None:
    raw = dump_json(tree)
    assert raw.decode() == json.dumps(tree, ensure_ascii=False, indent=1) + "\n"
    assert json.loads(raw) == tree


def test_quotes_and_line_ends_are_escaped_and_tuples_are_lists() -> None:
    tree = {"a\n": ('"', "\\", "\t", "\u202e", "µ"), "b": {}, "c": ()}
    assert parse_json(dump_json(tree)) == {**tree, "a\n": list(tree["a\n"]), "c": []}


@pytest.mark.parametrize("value", [float("nan"), float("inf"), object()])
def test_what_is_no_json_is_refused(value: object) -> None:
    with pytest.raises((ValueError, TypeError)):
        dump_json({"a": [value]})
