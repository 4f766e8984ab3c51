"""The list of CPUs: blocks by number, and whatever else the text may be."""

from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.cpuinfo import decode_cpuinfo

TWO = (
    "processor\t: 0\nmodel name\t: Calder C5 2100\nflags\t\t: fpu vme\npower management:\n\n"
    "processor\t: 2\nmodel name\t: Calder C5: 2100\nmicrocode\t: 0xf4\n\n"
)


def test_blocks_by_number() -> None:
    found = decode_cpuinfo(TWO)
    assert set(found) == {0, 2}
    assert found[0]["model name"] == "Calder C5 2100"
    assert found[0]["power management"] == ""
    assert found[2]["model name"] == "Calder C5: 2100"
    assert found[2]["microcode"] == "0xf4"


def test_a_block_without_a_number_is_left_out() -> None:
    """Other architectures end with a block about the whole machine."""
    assert set(decode_cpuinfo("processor: 1\n\nHardware\t: board\n\nprocessor: one\n")) == {1}


def test_the_first_of_two_counts() -> None:
    text = "processor: 0\nmodel name: a\nmodel name: b\n\nprocessor: 0\nmodel name: c\n"
    assert decode_cpuinfo(text)[0]["model name"] == "a"


@given(st.text(max_size=200))
def test_any_text_gives_blocks(text: str) -> None:
    for lines in decode_cpuinfo(text).values():
        assert "processor" in lines
