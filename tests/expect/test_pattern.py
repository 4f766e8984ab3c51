"""Patterns: what is refused, and that what is allowed ends soon."""

import re
import subprocess
import sys
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.expect.pattern import LONGEST_READING, MOST_WAYS, fault_of_pattern, ways_of

SOUND = [
    r"[A-Z]{2}[0-9]{8}",
    r"(PF|R9)[0-9A-Z]{6}",
    r"F\.[0-9]{2}[A-Z]?",
    r".*X.*",
    r"(?:AB|CD){2}",
    r"[^]x]+",
    r"a{,3}b{2,}",
    r"",
]
REFUSED = {
    r"(a+)+b": "too many ways",
    r"(a|a)*b": "too many ways",
    r"(a?){40}a{40}": "too many ways",
    r"a?" * 30 + r"a" * 30: "too many ways",
    r".*.*.*.*x": "too many ways",
    r"(a|b|ab)" * 20: "too many ways",
    r"(a*)*": "too many ways",
    r"(?=a)": "not offered",
    r"(?i)a": "not offered",
    r"(?P<n>a)": "not offered",
    r"(a)\1": "not offered",
    r"[a": "unterminated",
    r"*": "nothing to repeat",
    r"[[a]": "nested set",
    r"a{99999999999}": "too large",
    "a" * 201: "201 characters",
}


@pytest.mark.parametrize("pattern", SOUND)
def test_sound_pattern(pattern: str) -> None:
    assert not fault_of_pattern(pattern)


@pytest.mark.parametrize("pattern", REFUSED)
def test_refused_pattern(pattern: str) -> None:
    assert REFUSED[pattern] in fault_of_pattern(pattern)


@pytest.mark.parametrize(
    ("pattern", "ways"),
    [
        ("abc", 1),
        ("a|b|cd", 3),
        ("a?b?", 4),
        ("a{2,4}", 3),
        ("a{3}", 1),
        ("(a|b){2}", 4),
        ("(a|b){1,2}", 6),
        ("a{}", 1),
        (r"\(a\|b\)", 1),
        ("[|(*]", 1),
        ("[]|]", 1),
        ("a*", LONGEST_READING + 1),
        ("a+?", LONGEST_READING),
        ("x{,}", LONGEST_READING + 1),
    ],
)
def test_ways_counted_by_hand(pattern: str, ways: int) -> None:
    assert ways_of(pattern) == ways


PIECES = st.sampled_from(["a", "b", "(a|b)", "(a|ab)", "a?", "b{0,2}", "(a|b){2}", "[ab]"])


@given(st.lists(PIECES, max_size=4).map("".join))
def test_ways_are_never_fewer_than_the_texts_that_match(pattern: str) -> None:
    texts = ("".join(text) for length in range(9) for text in product("ab", repeat=length))
    matching = sum(1 for text in texts if re.fullmatch(pattern, text))
    sets = pattern.count("[ab]")
    assert ways_of(pattern) * 2**sets >= matching


@given(st.text(max_size=220))
def test_any_text_gives_an_answer(pattern: str) -> None:
    fault_of_pattern(pattern)


HOPELESS = 300
"""Seconds after which a walk is one without end, on the slowest machine."""
MATCH = f"import re, sys; re.fullmatch(sys.argv[1], 'a' * {LONGEST_READING})"


@pytest.mark.parametrize("pattern", [r".*.*.*x", r"(a|a)" * 20, r"a?" * 20 + "a" * 20, r"a*a*a*b"])
def test_worst_pattern_that_is_allowed_ends(pattern: str) -> None:
    """In a moment, where one that is not allowed would take longer than anybody waits."""
    assert ways_of(pattern) <= MOST_WAYS
    subprocess.run([sys.executable, "-c", MATCH, pattern], check=True, timeout=HOPELESS)
