"""The table of interrupts, summed over the processors."""

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.failure import DecodeError
from closeout.decode.interrupts import decode_interrupts

TABLE = b"""\
           CPU0       CPU1       
  8:          1          0   IO-APIC   8-edge      rtc0
NMI:          0          0   Non-maskable interrupts
TRM:          3          4   Thermal event interrupts
MCE:          0          0   Machine check exceptions
MCP:          7          9   Machine check polls
ERR:          5
MIS:          0
PIN:          Posted-interrupt notification event
no row at all
"""  # noqa: W291 - as the kernel writes it


def test_rows_are_summed() -> None:
    assert decode_interrupts(TABLE) == {
        "8": 1,
        "NMI": 0,
        "TRM": 7,
        "MCE": 0,
        "MCP": 16,
        "ERR": 5,
        "MIS": 0,
    }


@given(
    st.dictionaries(
        st.from_regex(r"[A-Z0-9]{1,4}", fullmatch=True),
        st.lists(st.integers(0, 2**32 - 1), min_size=3, max_size=3),
    )
)
def test_any_counts_are_summed(rows: dict[str, list[int]]) -> None:
    lines = [f"{name:>4}: {' '.join(map(str, counts))}   9 words" for name, counts in rows.items()]
    raw = "\n".join(["  CPU0 CPU1 CPU5", *lines, ""]).encode()
    assert decode_interrupts(raw) == {name: sum(counts) for name, counts in rows.items()}


@given(st.binary())
def test_any_bytes_are_a_table_or_one_error(raw: bytes) -> None:
    for whole in (raw, b" CPU0\n" + raw):
        with suppress(DecodeError):
            assert all(count >= 0 for count in decode_interrupts(whole).values())


@pytest.mark.parametrize("raw", [b"", b"\n", b"CPU0 other\n", b"MCE: 0\n"])
def test_without_the_processors_it_is_no_table(raw: bytes) -> None:
    with pytest.raises(DecodeError):
        decode_interrupts(raw)
