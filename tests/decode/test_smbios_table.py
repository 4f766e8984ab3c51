"""The SMBIOS table: structures and strings as built, and every fault with its place."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.smbios_entry import decode_entry_point
from closeout.decode.smbios_table import Fault, decode_table
from strategies import smbios

END = smbios.end_of_table()


def test_structure_has_header_formatted_area_and_strings() -> None:
    table = decode_table(smbios.build_structure(200, 0x1234, b"\x01\x02", [b"a", b"bc"]) + END)
    first = table.structures[0]
    assert (first.offset, first.type, first.handle, first.length) == (0, 200, 0x1234, 6)
    assert first.formatted == b"\xc8\x06\x34\x12\x01\x02"
    assert first.strings == (b"a", b"bc")
    assert not first.is_cut
    assert table.structures[1].offset == 12
    assert table.faults == ()
    assert table.broken_at is None


def test_nothing_is_read_behind_the_end_of_table() -> None:
    table = decode_table(END + smbios.system(serial="late"))
    assert [structure.type for structure in table.structures] == [127]
    assert table.faults == ()


def test_length_below_four_ends_the_walk() -> None:
    table = decode_table(smbios.system() + b"\x05\x03\x00\x00" + END)
    at = len(smbios.system()) + 1
    assert [structure.type for structure in table.structures] == [1]
    assert table.faults == (
        Fault(offset=at, message="length 3 is below 4; the rest cannot be read"),
    )
    assert table.broken_at == at


def test_missing_end_of_table_is_told_but_breaks_nothing() -> None:
    raw = smbios.system()
    table = decode_table(raw)
    assert table.faults == (Fault(offset=len(raw), message="no end-of-table structure (type 127)"),)
    assert table.broken_at is None


def test_a_table_shorter_than_its_entry_point_says_is_cut() -> None:
    raw = smbios.system() + smbios.system() + END
    entry = decode_entry_point(smbios.build_entry_point_32((2, 8), len(raw), 0x20, 3))
    assert not decode_table(raw, entry).is_cut
    half = decode_table(raw[: len(smbios.system())], entry)
    assert half.is_cut
    assert "are announced" in half.faults[-1].message


def test_no_bytes_at_all() -> None:
    table = decode_table(b"")
    assert table.structures == ()
    assert table.faults == (Fault(offset=0, message="no end-of-table structure (type 127)"),)


def test_bytes_too_few_for_a_header() -> None:
    table = decode_table(smbios.system() + b"\x11\x5c")
    assert [fault.message for fault in table.faults] == ["2 bytes left, too few for a header"]


def test_cut_inside_the_strings_keeps_the_whole_ones() -> None:
    whole = smbios.build_structure(200, 1, b"", [b"abc", b"def"])
    table = decode_table(whole[:-3])
    assert table.structures[0].strings == (b"abc",)
    assert table.structures[0].is_cut
    assert table.faults[0].offset == len(whole) - 3
    assert "inside the strings of a structure of type 200 at byte 0" in table.faults[0].message
    assert table.broken_at == 0


def test_cut_inside_the_fields_keeps_those_before() -> None:
    table = decode_table(smbios.system(serial="S")[:10])
    assert table.structures[0].length == 27
    assert len(table.structures[0].formatted) == 10
    assert "inside the fields of a structure of type 1" in table.faults[0].message


def test_empty_string_hides_what_follows() -> None:
    table = decode_table(smbios.build_structure(200, 1, b"", [b"", b"hidden"]) + END)
    assert table.structures[0].strings == ()
    assert table.faults == (Fault(offset=4, message="an empty string hides the strings after it"),)


@pytest.mark.parametrize("announced", [1, 3])
def test_count_against_the_entry_point(announced: int) -> None:
    raw = smbios.system() + END
    entry = decode_entry_point(smbios.build_entry_point_32((2, 8), len(raw), 0x20, announced))
    assert decode_table(raw, entry).faults == (
        Fault(offset=0, message=f"{announced} structures are announced, 2 were found"),
    )


def test_length_against_the_entry_point() -> None:
    raw = smbios.system() + END
    exact = decode_entry_point(smbios.build_entry_point_32((2, 8), len(raw) + 1, 0x20, 2))
    at_most = decode_entry_point(smbios.build_entry_point((3, 3), len(raw) + 1, 0x20))
    assert [fault.message for fault in decode_table(raw, exact).faults] == [
        f"{len(raw) + 1} bytes are announced, {len(raw)} are there"
    ]
    assert decode_table(raw, at_most).faults == ()


def test_announced_length_limits_the_table() -> None:
    raw = smbios.system() + smbios.board() + END
    entry = decode_entry_point(smbios.build_entry_point((3, 3), len(smbios.system()), 0x20))
    assert [structure.type for structure in decode_table(raw, entry).structures] == [1]


@given(
    st.lists(
        st.tuples(
            st.integers(0, 126),
            smbios.WORDS,
            st.binary(max_size=251),
            st.lists(smbios.TEXTS.filter(bool), max_size=5),
        ),
        max_size=6,
    )
)
def test_built_structures_come_back(
    plans: list[tuple[int, int, bytes, list[bytes]]],
) -> None:
    raw = smbios.build_table([*(smbios.build_structure(*plan) for plan in plans), END])
    table = decode_table(raw)
    assert table.faults == ()
    assert [
        (found.type, found.handle, found.formatted[4:], list(found.strings))
        for found in table.structures[:-1]
    ] == plans


@given(smbios.TABLES, st.data())
def test_every_cut_is_a_fault_and_keeps_what_came_before(raw: bytes, data: st.DataObject) -> None:
    whole = decode_table(raw)
    cut = data.draw(st.integers(0, len(raw) - 1))
    table = decode_table(raw[:cut])
    assert table.faults
    assert all(0 <= fault.offset <= cut for fault in table.faults)
    kept = [structure for structure in table.structures if not structure.is_cut]
    assert kept == list(whole.structures[: len(kept)])
    assert len(table.structures) - len(kept) in {0, 1}


@given(st.binary(max_size=400))
def test_any_bytes_give_a_table(raw: bytes) -> None:
    table = decode_table(raw)
    for structure in table.structures:
        assert raw[structure.offset :].startswith(structure.formatted)
    assert table.faults or table.structures[-1].type == 127
