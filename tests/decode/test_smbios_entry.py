"""The SMBIOS entry point: worked values, wrong sums and lengths, any bytes."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.failure import DecodeError
from closeout.decode.smbios_entry import EntryPoint, decode_entry_point
from oracles import dmidecode
from strategies import smbios

WORKED_64 = bytes.fromhex("5f534d335f89180303000100a50200002000000000000000")
"""SMBIOS 3.3.0, at most 2A5h bytes of table at 20h; dmidecode 3.4 accepts it."""
WORKED_32 = bytes.fromhex("5f534d5f391f020840000000000000005f444d495f6da502200000000c0028")
"""SMBIOS 2.8, exactly 2A5h bytes of table at 20h, twelve structures; dmidecode 3.4 accepts it."""


def test_worked_64_bit_entry_point() -> None:
    assert decode_entry_point(WORKED_64) == EntryPoint(
        anchor="_SM3_",
        version=(3, 3),
        revision=0,
        table_offset=0x20,
        table_length=0x2A5,
        structure_count=None,
    )


def test_worked_32_bit_entry_point() -> None:
    assert decode_entry_point(WORKED_32) == EntryPoint(
        anchor="_SM_",
        version=(2, 8),
        revision=None,
        table_offset=0x20,
        table_length=0x2A5,
        structure_count=12,
    )


def test_only_the_32_bit_length_is_exact() -> None:
    assert decode_entry_point(WORKED_32).is_length_exact
    assert not decode_entry_point(WORKED_64).is_length_exact


@pytest.mark.parametrize(("worked", "checksum_at"), [(WORKED_64, 5), (WORKED_32, 4)])
@pytest.mark.parametrize("bit", range(8))
def test_flipped_bit_of_the_checksum_is_noticed(worked: bytes, checksum_at: int, bit: int) -> None:
    raw = bytearray(worked)
    raw[checksum_at] ^= 1 << bit
    with pytest.raises(DecodeError) as caught:
        decode_entry_point(bytes(raw))
    assert caught.value.offset == checksum_at


def test_length_of_version_2_1_is_accepted() -> None:
    """1Eh was printed in version 2.1 of the standard; kernel and dmidecode take it."""
    raw = smbios.build_entry_point_32((2, 1), 100, 0x20, 3, length=0x1E)
    assert decode_entry_point(raw).version == (2, 1)


def test_cut_within_the_length_that_it_says() -> None:
    raw = smbios.build_entry_point_32((2, 1), 100, 0x20, 3, length=0x1F)
    with pytest.raises(DecodeError, match="says 31 bytes, got 30"):
        decode_entry_point(raw[:0x1E])


@pytest.mark.parametrize(("anchor", "length"), [("_SM_", 0x1D), ("_SM_", 0x21), ("_SM3_", 0x17)])
def test_impossible_length(anchor: str, length: int) -> None:
    raw = bytearray(WORKED_64 if anchor == "_SM3_" else WORKED_32)
    length_at = len(anchor) + 1
    raw[length_at] = length
    with pytest.raises(DecodeError, match="length") as caught:
        decode_entry_point(bytes(raw))
    assert caught.value.offset == length_at


def test_intermediate_anchor_and_checksum_are_held_to() -> None:
    renamed = smbios.with_checksum(WORKED_32[:0x10] + b"_XMI_" + WORKED_32[0x15:], 4)
    with pytest.raises(DecodeError, match="intermediate anchor"):
        decode_entry_point(renamed)
    changed = smbios.with_checksum(WORKED_32[:0x16] + b"\xa6" + WORKED_32[0x17:], 4)
    with pytest.raises(DecodeError, match="intermediate checksum"):
        decode_entry_point(changed)


@pytest.mark.parametrize(
    ("written", "meant"), [((2, 0x1F), (2, 3)), ((2, 0x21), (2, 3)), ((2, 0x33), (2, 6))]
)
def test_known_version_slips(written: tuple[int, int], meant: tuple[int, int]) -> None:
    """As the kernel corrects them (drivers/firmware/dmi_scan.c, from memory)."""
    raw = smbios.build_entry_point_32(written, 100, 0x20, 3)
    assert decode_entry_point(raw).version == meant


@given(st.tuples(smbios.BYTES, smbios.BYTES), smbios.DWORDS, st.integers(0, (1 << 64) - 1))
def test_built_64_bit_entry_point_comes_back(
    version: tuple[int, int], length: int, offset: int
) -> None:
    entry = decode_entry_point(smbios.build_entry_point(version, length, offset))
    assert (entry.version, entry.table_length, entry.table_offset) == (version, length, offset)


@given(smbios.WORDS, smbios.DWORDS, smbios.WORDS)
def test_built_32_bit_entry_point_comes_back(length: int, offset: int, count: int) -> None:
    entry = decode_entry_point(smbios.build_entry_point_32((2, 8), length, offset, count))
    assert (entry.table_length, entry.table_offset) == (length, offset)
    assert entry.structure_count == count


@given(st.sampled_from([WORKED_64, WORKED_32]), st.data())
def test_every_changed_byte_is_noticed(worked: bytes, data: st.DataObject) -> None:
    at = data.draw(st.integers(0, len(worked) - 1))
    change = data.draw(st.integers(1, 0xFF))
    raw = bytearray(worked)
    raw[at] ^= change
    with pytest.raises(DecodeError):
        decode_entry_point(bytes(raw))


@given(st.sampled_from([WORKED_64, WORKED_32]), st.data())
def test_every_cut_is_noticed(worked: bytes, data: st.DataObject) -> None:
    cut = data.draw(st.integers(0, len(worked) - 1))
    with pytest.raises(DecodeError):
        decode_entry_point(worked[:cut])


@given(st.sampled_from([b"", b"_SM_", b"_SM3_"]), st.binary(max_size=64))
def test_any_bytes_give_an_entry_point_or_one_error(anchor: bytes, rest: bytes) -> None:
    raw = anchor + rest
    try:
        offset = 0 if raw.startswith(decode_entry_point(raw).anchor.encode()) else -1
    except DecodeError as error:
        offset = error.offset
    assert 0 <= offset <= len(raw)


def test_dmidecode_takes_the_same_entry_points(tmp_path: Path) -> None:
    if reason := dmidecode.reason_to_skip():
        pytest.skip(reason)
    table = smbios.build_table([smbios.system(serial="S1"), smbios.end_of_table()])
    slip = smbios.build_entry_point_32((2, 1), len(table), 0x20, 2, length=0x1E)
    for entry, words in (
        (smbios.build_entry_point((3, 3), len(table), 0x20), "SMBIOS 3.3.0 present"),
        (smbios.build_entry_point_32((2, 8), len(table), 0x20, 2), "SMBIOS 2.8 present"),
        (slip, "SMBIOS 2.1 present"),
        (slip[:4] + bytes([slip[4] ^ 1]) + slip[5:], "No SMBIOS nor DMI entry point found"),
    ):
        dump = tmp_path / "entry.dump"
        dump.write_bytes(entry.ljust(0x20, b"\0") + table)
        assert words in dmidecode.run_dmidecode(dump)
