"""Records of the kernel's log, and the answer that holds many."""

from contextlib import suppress
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.failure import DecodeError
from closeout.decode.kernel_log import (
    NEAR,
    LogCounts,
    LogRecord,
    decode_excerpt,
    decode_record,
    encode_excerpt,
)
from strategies.kernel_log import INTERRUPTED, build_record, line, records

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


def piece(text: str, sequence: int, caller: str = "") -> LogRecord:
    return replace(line(text, sequence=sequence), is_fragment=True, caller=caller)


def texts_of(*told: LogRecord | bytes) -> list[tuple[str, int]]:
    raw = encode_excerpt(
        COUNTS, (one if isinstance(one, bytes) else build_record(one) for one in told)
    )
    return [(found.text, found.level) for found in decode_excerpt(raw).records]


def test_a_piece_is_put_behind_its_line_and_has_its_level() -> None:
    """As the kernel does it where nobody comes between (`vprintk_store`, printk.c)."""
    head, program, rest = INTERRUPTED
    whole = "Console: switching to colour dummy device 80x25"
    assert texts_of(head, rest) == [(whole, 6)]
    assert texts_of(head, program, rest) == [(whole, 6), ("noise noise", 4)]
    assert texts_of(rest) == [("to colour dummy device 80x25", 4)]


def test_pieces_of_one_line_are_put_together() -> None:
    first = replace(line("a ", sequence=4, device="+pci:x"), level=3)
    between = line("another", sequence=5)
    raw = encode_excerpt(COUNTS, map(build_record, (first, between, piece("b", 6), piece(" c", 7))))
    (found, other) = decode_excerpt(raw).records
    assert (found.text, found.level, found.property_of("DEVICE")) == ("a b c", 3, "+pci:x")
    assert other == between


@pytest.mark.parametrize(
    ("head", "rest"),
    [
        (line("whole", sequence=4), piece("a line of its own", 5)),
        (line("by another ", sequence=4), piece("rest", 5, "T9")),
        (line("long ago ", sequence=4), piece("rest", 4 + NEAR + 1)),
        (line("later ", sequence=4), piece("rest", 3)),
        (replace(line("of a program ", sequence=4), facility=1), piece("rest", 5)),
    ],
)
def test_a_piece_whose_line_is_not_seen_stands_alone(head: LogRecord, rest: LogRecord) -> None:
    assert texts_of(head, rest) == [(head.text, head.level), (rest.text, rest.level)]


def test_a_piece_is_put_behind_the_line_of_its_own_caller() -> None:
    first = replace(line("a ", sequence=4), caller="T9")
    second = replace(line("b ", sequence=5), caller="T8")
    assert texts_of(first, second, piece("c", 6, "T9")) == [("a c", 4), ("b ", 4)]


@given(st.lists(records, max_size=6))
def test_no_text_is_lost_in_putting_together(drawn: list[LogRecord]) -> None:
    found = decode_excerpt(encode_excerpt(COUNTS, map(build_record, drawn))).records
    assert sorted("".join(one.text for one in found)) == sorted("".join(one.text for one in drawn))
    assert len(found) >= sum(not one.is_fragment for one in drawn)


@pytest.mark.parametrize("raw", [b"", b"read=1 lost=0\n", b"4,1,2,-;text\n"])
def test_an_answer_begins_with_its_counts(raw: bytes) -> None:
    with pytest.raises(DecodeError, match="counts"):
        decode_excerpt(raw)


def test_the_place_of_what_is_no_record_is_told() -> None:
    good = build_record(line("good"))
    with pytest.raises(DecodeError) as caught:
        decode_excerpt(encode_excerpt(COUNTS, [good, b"bad"]))
    assert caught.value.offset == len(encode_excerpt(COUNTS, [good]))
