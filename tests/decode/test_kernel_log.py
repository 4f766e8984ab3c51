"""Records of the kernel's log, and the answer that holds many."""

from contextlib import suppress
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.failure import DecodeError
from closeout.decode.kernel_log import (
    LogCounts,
    LogRecord,
    decode_excerpt,
    decode_record,
    encode_excerpt,
)
from strategies.kernel_log import build_record, line, records

WORKED = (
    b"7,160,424069,-;pci_root PNP0A03:00: host bridge window [io  0x0000-0x0cf7] (ignored)\n"
    b" SUBSYSTEM=acpi\n"
    b" DEVICE=+acpi:PNP0A03:00\n"
)
"""The example of Documentation/ABI/testing/dev-kmsg, with its second and third record below."""
COUNTS = LogCounts(read=3, lost=1, left_out=2)


def test_the_documents_own_example() -> None:
    found = decode_record(WORKED)
    assert found == LogRecord(
        level=7,
        facility=0,
        sequence=160,
        microseconds=424069,
        is_fragment=False,
        caller="",
        text="pci_root PNP0A03:00: host bridge window [io  0x0000-0x0cf7] (ignored)",
        properties=(("SUBSYSTEM", "acpi"), ("DEVICE", "+acpi:PNP0A03:00")),
    )
    assert found.property_of("DEVICE") == "+acpi:PNP0A03:00"
    assert found.property_of("OTHER") == ""
    second = decode_record(b"6,339,5140900,-;NET: Registered protocol family 10\n")
    assert (second.level, second.facility, second.properties) == (6, 0, ())
    third = decode_record(b"30,340,5690716,-;udevd[80]: starting version 181\n")
    assert (third.level, third.facility) == (6, 3)


def test_fields_of_later_kernels_are_passed_over_and_the_caller_is_told() -> None:
    assert decode_record(b"4,1,2,-,caller=T12,new=1;text; more\n").caller == "T12"
    assert decode_record(b"4,1,2,-,new=1;text; more\n").text == "text; more"


def test_escapes_are_bytes_of_the_text() -> None:
    found = decode_record(rb"4,1,2,-;a\x5cb\x0ac \xc3\xa9 \xZZ")
    assert found.text == "a\\b\nc \u00e9 \\xZZ"


@given(records)
def test_what_is_built_is_read_back(record: LogRecord) -> None:
    assert decode_record(build_record(record)) == record


@given(st.lists(records, max_size=5))
def test_records_come_back_out_of_an_answer(drawn: list[LogRecord]) -> None:
    plain = tuple(replace(record, is_fragment=False) for record in drawn)
    raw = encode_excerpt(COUNTS, map(build_record, plain))
    found = decode_excerpt(raw)
    assert (found.counts, found.records) == (COUNTS, plain)


@given(st.binary())
def test_any_bytes_are_records_or_one_error(raw: bytes) -> None:
    for decode in (decode_record, decode_excerpt):
        with suppress(DecodeError):
            assert decode(raw)


@given(st.binary())
def test_any_bytes_behind_the_counts_too(raw: bytes) -> None:
    with suppress(DecodeError):
        assert decode_excerpt(encode_excerpt(COUNTS, [raw])).counts == COUNTS


def test_pieces_of_one_line_are_put_together() -> None:
    first = replace(line("a", sequence=4, device="+pci:x"), is_fragment=True, level=4)
    second = replace(line("b", sequence=5), is_fragment=True, level=3)
    third = replace(line("c", sequence=7), is_fragment=True)
    other = replace(line("d", sequence=8), is_fragment=True, caller="T9")
    raw = encode_excerpt(COUNTS, map(build_record, (first, second, third, other)))
    texts = [(found.text, found.level) for found in decode_excerpt(raw).records]
    assert texts == [("ab", 3), ("c", 4), ("d", 4)]
    assert decode_excerpt(raw).records[0].property_of("DEVICE") == "+pci:x"


@pytest.mark.parametrize("raw", [b"", b"read=1 lost=0\n", b"4,1,2,-;text\n"])
def test_an_answer_begins_with_its_counts(raw: bytes) -> None:
    with pytest.raises(DecodeError, match="counts"):
        decode_excerpt(raw)


def test_the_place_of_what_is_no_record_is_told() -> None:
    good = build_record(line("good"))
    with pytest.raises(DecodeError) as caught:
        decode_excerpt(encode_excerpt(COUNTS, [good, b"bad"]))
    assert caught.value.offset == len(encode_excerpt(COUNTS, [good]))
