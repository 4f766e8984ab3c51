"""Which of several tellings counts, and what a text is."""

from hypothesis import given
from hypothesis import strategies as st

from closeout.model.reading import Absent, Blank, Filler, Reading, Unreadable, Value
from closeout.readers.first_told import first_told
from closeout.readers.placeholder import sort_text

ABSENT = Absent(reason="the kernel has no such file", sources=("a",))
BLANK = Blank(reason="the file holds no text", sources=("b",))
DENIED = Unreadable(error="EACCES", advice="run as root", sources=("c",))
TOLD = Value(value="text", sources=("d",))

readings: st.SearchStrategy[Reading[str]] = st.sampled_from([ABSENT, BLANK, DENIED, TOLD])


def told(*given_readings: Reading[str]) -> Reading[str]:
    return first_told([lambda one=one: one for one in given_readings], "nobody tells it")


@given(st.lists(readings))
def test_a_value_wins_then_a_failure_then_absence(drawn: list[Reading[str]]) -> None:
    found = told(*drawn)
    if TOLD in drawn:
        assert found is TOLD
    elif BLANK in drawn or DENIED in drawn:
        assert found is next(one for one in drawn if one is not ABSENT)
    else:
        assert found == Absent(reason="nobody tells it", sources=("a",) * len(drawn))


def test_nobody_is_asked_after_the_first_value() -> None:
    asked: list[str] = []

    def ask(name: str, reading: Reading[str]) -> Reading[str]:
        asked.append(name)
        return reading

    first_told(
        [lambda: ask("one", ABSENT), lambda: ask("two", TOLD), lambda: ask("three", TOLD)], ""
    )
    assert asked == ["one", "two"]


def test_text_is_sorted_and_other_states_pass_through() -> None:
    field = "Drive/Serial Number"
    value = Value(value="SK440718A92F", sources=("d",))
    assert sort_text(value, field) is value
    assert sort_text(DENIED, field) is DENIED
    filler = sort_text(Value(value="0123456789", sources=("d",)), field)
    assert isinstance(filler, Filler)
    assert (filler.text, filler.sources) == ("0123456789", ("d",))
    assert filler.reason
    blank = sort_text(Value(value=" ", sources=("d",)), field)
    assert isinstance(blank, Blank)
    assert blank.sources == ("d",)
