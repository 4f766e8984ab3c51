"""Lists of CPU numbers: worked ones, what is none, and that no text makes a list without end."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.cpu_list import MOST_CPUS, decode_cpu_list


@pytest.mark.parametrize(
    ("text", "numbers"),
    [
        ("0", (0,)),
        ("0-3", (0, 1, 2, 3)),
        ("0-1,4-5,7", (0, 1, 4, 5, 7)),
        ("2,0-1,1", (0, 1, 2)),
        ("", ()),
        ("\n", ()),
        ("0-1\n", (0, 1)),
    ],
)
def test_worked_lists(text: str, numbers: tuple[int, ...]) -> None:
    """Documentation/admin-guide/cputopology.rst writes `0-31` and `2,4-31,32-63`."""
    assert decode_cpu_list(text) == numbers


@pytest.mark.parametrize(
    "text", ["x", "-1", "3-1", "0--1", "0,", "0x1", "0 1", "0-99999", "999999", "0-65536", "٣"]
)
def test_what_is_no_list(text: str) -> None:
    assert decode_cpu_list(text) is None


@given(st.sets(st.integers(0, MOST_CPUS - 1), max_size=30))
def test_written_lists_come_back(numbers: set[int]) -> None:
    assert decode_cpu_list(",".join(map(str, numbers))) == tuple(sorted(numbers))


@given(st.text(max_size=40) | st.from_regex(r"[0-9,-]{0,30}", fullmatch=True))
def test_any_text_gives_a_short_list_or_none(text: str) -> None:
    numbers = decode_cpu_list(text)
    assert numbers is None or len(numbers) <= MOST_CPUS
