"""The ACPI table header against a worked table, iasl, and any bytes."""

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.acpi_table import AcpiHeader, decode_acpi_header
from closeout.decode.failure import DecodeError
from oracles import iasl
from strategies.msdm import MsdmPlan, build_msdm, faulty_plans, sound_plans

WORKED = bytes.fromhex(
    "4d53444d 55000000 03 24 4f454d494431 4f454d54424c4944 01000000 414d4920 13000100"
    "01000000 00000000 01000000 00000000 1d000000"
    "41424344452d464748494a2d4b4c4d4e4f2d50515253542d5556575859"
)
"""A made-up table that iasl accepts and that a booted kernel showed unchanged."""


def test_worked_header() -> None:
    assert decode_acpi_header(WORKED) == AcpiHeader(
        signature="MSDM",
        length=85,
        given=85,
        revision=3,
        checksum=0x24,
        checksum_good=True,
        oem_id="OEMID1",
        oem_table_id="OEMTBLID",
        oem_revision=1,
        creator_id="AMI",
        creator_revision=0x10013,
    )


@pytest.mark.parametrize("given", [0, 1, 35])
def test_short_table_says_where_it_ends(given: int) -> None:
    with pytest.raises(DecodeError, match="takes 36 bytes") as raised:
        decode_acpi_header(WORKED[:given])
    assert raised.value.offset == given


@pytest.mark.parametrize("signature", [b"FACS", b"RSD ", b"MS\0M", b"\xff\xff\xff\xff"])
def test_other_signatures_are_refused(signature: bytes) -> None:
    with pytest.raises(DecodeError) as raised:
        decode_acpi_header(signature + WORKED[4:])
    assert raised.value.offset == 0


def test_padding_is_dropped_and_the_unprintable_is_marked() -> None:
    header = decode_acpi_header(
        build_msdm(MsdmPlan(oem_id=b"AB\x1bC \0", oem_table_id=b"\0\0\0\0\0\0\0\0"))
    )
    assert (header.oem_id, header.oem_table_id) == ("AB?C", "")


def offset_of_failure(raw: bytes) -> int | None:
    try:
        decode_acpi_header(raw)
    except DecodeError as failure:
        return failure.offset
    return None


@given(plan=sound_plans(), place=st.integers(4, 84), change=st.integers(1, 255))
def test_any_changed_byte_shows_in_the_sum(plan: MsdmPlan, place: int, change: int) -> None:
    table = bytearray(build_msdm(plan))
    assert decode_acpi_header(bytes(table)).checksum_good
    table[place] = (table[place] + change) % 256
    header = decode_acpi_header(bytes(table))
    assert not header.checksum_good or header.length != 85


@given(plan=sound_plans(), length=st.integers(0, 0xFFFFFFFF).filter(lambda length: length > 85))
def test_a_table_cut_short_has_no_good_sum(plan: MsdmPlan, length: int) -> None:
    header = decode_acpi_header(build_msdm(replace(plan, length=length)))
    assert (header.length, header.given, header.checksum_good) == (length, 85, False)


@given(st.one_of(st.binary(max_size=120), st.builds(build_msdm, faulty_plans())))
def test_any_bytes_give_a_header_or_an_offset(raw: bytes) -> None:
    offset = offset_of_failure(raw)
    if offset is None:
        assert decode_acpi_header(raw).given == len(raw)
    else:
        assert 0 <= offset <= len(raw)


@pytest.mark.skipif(bool(iasl.reason_to_skip()), reason=iasl.reason_to_skip())
def test_equals_iasl_on_every_open_table(test_data: Path, tmp_path: Path) -> None:
    tables = sorted((test_data / "msdm").glob("*.bin"))
    assert tables
    for table in tables:
        _assert_equals_iasl(table, tmp_path)


@pytest.mark.skipif(bool(iasl.reason_to_skip()), reason=iasl.reason_to_skip())
@pytest.mark.parametrize("checksum", range(0, 256, 37))
def test_equals_iasl_on_the_sum(checksum: int, tmp_path: Path) -> None:
    table = tmp_path / "drawn.bin"
    table.write_bytes(build_msdm(MsdmPlan(checksum=checksum)))
    _assert_equals_iasl(table, tmp_path)


def _assert_equals_iasl(table: Path, folder: Path) -> None:
    raw = table.read_bytes()
    ours = decode_acpi_header(raw)
    theirs = iasl.list_table(table, folder)
    assert theirs.raw == raw, table.name
    assert theirs.numbers == {
        "Table Length": ours.length,
        "Revision": ours.revision,
        "Checksum": ours.checksum,
        "Oem Revision": ours.oem_revision,
        "Asl Compiler Revision": ours.creator_revision,
    }, table.name
    assert theirs.checksum_good == ours.checksum_good, table.name
    texts = {name: text.rstrip(" \0") for name, text in theirs.texts.items()}
    assert texts == {
        "Signature": ours.signature,
        "Oem ID": ours.oem_id,
        "Oem Table ID": ours.oem_table_id,
        "Asl Compiler ID": ours.creator_id,
    }, table.name
