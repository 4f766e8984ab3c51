"""The licence key table against a worked table, the open data's index, and any bytes."""

import json
from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.failure import DecodeError
from closeout.decode.msdm import (
    ALPHABET,
    KeyFormat,
    classify_key,
    decode_msdm,
    describe_msdm,
)
from strategies.msdm import MsdmPlan, build_msdm, faulty_plans, sound_plans

WORKED = bytes.fromhex(
    "4d53444d 55000000 03 24 4f454d494431 4f454d54424c4944 01000000 414d4920 13000100"
    "01000000 00000000 01000000 00000000 1d000000"
    "41424344452d464748494a2d4b4c4d4e4f2d50515253542d5556575859"
)
"""A made-up table that iasl accepts and that a booted kernel showed unchanged."""

FORMATS = [
    (b"BCDFG-HJKMP-QRTVW-XY234-6789N", KeyFormat.WELL_FORMED),
    (b"ABCDE-FGHIJ-KLMNO-PQRST-UVWXY", KeyFormat.LETTERS),
    (b"bcdfg-hjkmp-qrtvw-xy234-6789n", KeyFormat.LETTERS),
    (b"XXXXX-XXXXX-XXXXX-XXXXX-XXXXX", KeyFormat.REPEATED),
    (b"BCDFG-HJKMP-QRTVW-XY234-6789N\0", KeyFormat.GROUPS),
    (b"BCDFGHJKMPQRTVWXY2346789N", KeyFormat.GROUPS),
    (b"BCDF!-HJKMP-QRTVW-XY234-6789N", KeyFormat.GROUPS),
    (b"-" * 29, KeyFormat.GROUPS),
    (b"\xe9" * 5 + b"-HJKMP-QRTVW-XY234-6789N", KeyFormat.GROUPS),
    (b"\0" * 29, KeyFormat.ALL_00),
    (b"\xff" * 29, KeyFormat.ALL_FF),
    (b" " * 29, KeyFormat.SPACES),
    (b"\xff" * 25 + b"\0" * 4, KeyFormat.FF_THEN_ZERO),
    (b"", KeyFormat.NOTHING),
]


@pytest.mark.parametrize(("key", "expected"), FORMATS)
def test_form_of_a_key(key: bytes, expected: KeyFormat) -> None:
    assert classify_key(key) is expected


def test_worked_table() -> None:
    table = decode_msdm(WORKED)
    assert (table.version, table.reserved, table.data_type, table.data_reserved) == (1, 0, 1, 0)
    assert table.data_length == 29
    assert table.layout_faults == ()
    assert table.key == b"ABCDE-FGHIJ-KLMNO-PQRST-UVWXY"
    assert table.key_format is KeyFormat.LETTERS


@pytest.mark.parametrize(
    ("raw", "offset"),
    [(b"", 0), (WORKED[:35], 35), (b"SLIC" + WORKED[4:], 0), (WORKED[:55], 55)],
)
def test_no_such_table_says_where(raw: bytes, offset: int) -> None:
    with pytest.raises(DecodeError) as raised:
        decode_msdm(raw)
    assert raised.value.offset == offset


@pytest.mark.parametrize(
    ("change", "faults"),
    [
        ({"version": 2}, ("the version is not 1",)),
        ({"data_type": 0xFFFFFFFF}, ("the data type is not 1",)),
        ({"data_length": 28}, ("the data length is not 29",)),
        (
            {"length": 86},
            (
                "the table's length is not 85",
                "more or fewer bytes than the table's length",
            ),
        ),
    ],
)
def test_faults_of_the_layout_are_facts(change: dict[str, int], faults: tuple[str, ...]) -> None:
    assert decode_msdm(build_msdm(replace(MsdmPlan(), **change))).layout_faults == faults


def test_key_ends_where_the_table_says() -> None:
    plan = MsdmPlan(length=70)
    assert decode_msdm(build_msdm(plan)).key == plan.key[:14]


@given(sound_plans())
def test_built_tables_come_back(plan: MsdmPlan) -> None:
    table = decode_msdm(build_msdm(plan))
    assert table.key == plan.key
    assert table.key_format is KeyFormat.WELL_FORMED
    assert table.layout_faults == ()
    assert table.header.checksum_good
    assert table.header.revision == plan.revision
    assert table.header.oem_id == plan.oem_id.decode()


@given(sound_plans())
def test_neither_repr_nor_description_gives_the_key_away(plan: MsdmPlan) -> None:
    raw = build_msdm(plan)
    description = describe_msdm(raw)
    assert description["key_last_five"] == plan.key[-5:].decode()
    for text in (repr(decode_msdm(raw)), json.dumps(description)):
        assert all(plan.key[at : at + 6].decode() not in text for at in range(24))


@given(st.integers(1, 20), sound_plans())
def test_pieces_of_a_slipped_key_are_withheld(slip: int, plan: MsdmPlan) -> None:
    raw = build_msdm(plan)
    slipped = raw[: 56 - slip] + plan.key + raw[56:]
    description = json.dumps(describe_msdm(slipped))
    for start in range(25):
        piece = int.from_bytes(plan.key[start : start + 4], "little")
        assert str(piece) not in description


@given(st.one_of(st.binary(max_size=120), st.builds(build_msdm, faulty_plans())))
def test_any_bytes_give_a_table_or_an_offset(raw: bytes) -> None:
    offset = offset_of_failure(raw)
    if offset is None:
        json.dumps(describe_msdm(raw), allow_nan=False)
    else:
        assert 0 <= offset <= len(raw)


def offset_of_failure(raw: bytes) -> int | None:
    try:
        decode_msdm(raw)
    except DecodeError as failure:
        return failure.offset
    return None


def test_equals_the_index_of_the_open_data(test_data: Path) -> None:
    """All rows and all columns; the one difference is a class that the index took too early.

    Where the index says "letters outside the alphabet", it judged the key that stood there
    before an invented one replaced it, and the invented one has none but letters of the
    alphabet. The row is accepted only if that is so, letter by letter.
    """
    rows = [json.loads(line) for line in (test_data / "msdm/index.jsonl").read_text().splitlines()]
    classed_before = []
    for row in rows:
        raw = (test_data / "msdm" / row["file"]).read_bytes()
        ours = describe_msdm(raw)
        expected = {name: row[name] for name in row if name not in {"file", "key_is_invented"}}
        if row["key_class"].startswith("5x5") and row["key_is_invented"]:
            classed_before.append(row["file"])
            assert ALPHABET.issuperset(raw[56:85].replace(b"-", b""))
            expected["key_class"] = "well-formed key (masked)"
        assert {name: ours[name] for name in expected} == expected, row["file"]
    assert len(classed_before) <= len(rows) // 100


def test_alphabet_is_that_of_the_open_keys_and_n(test_data: Path) -> None:
    seen: Counter[int] = Counter()
    for table in (test_data / "msdm").glob("*.bin"):
        key = decode_msdm(table.read_bytes())
        if key.key_format is KeyFormat.WELL_FORMED:
            seen.update(key.key.replace(b"-", b""))
    assert ALPHABET - set(seen) == set(b"N")
    assert set(seen) <= ALPHABET
