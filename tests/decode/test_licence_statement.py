"""What is kept of a licence key table, and above all what is not."""

import base64
import json
from collections.abc import Iterator

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.failure import DecodeError
from closeout.decode.licence_statement import (
    StatedFault,
    StatedTable,
    decode_statement,
    state_licence,
)
from strategies.msdm import MsdmPlan, build_msdm, faulty_plans, sound_keys, sound_plans


def last_five(key: bytes) -> str:
    return key[-5:].decode("ascii")


def never(key: bytes) -> str:
    raise AssertionError(f"asked for a token of {len(key)} bytes that are no key")


def encodings(key: bytes) -> Iterator[bytes]:
    """The key as text, UTF-16, hex, and base64 at each of the three offsets, in either case."""
    for text in (key, key.replace(b"-", b"")):
        yield text
        yield text.decode().encode("utf-16-le")
        yield text.decode().encode("utf-16-be")
        yield text.hex().encode()
        yield text.hex().upper().encode()
        yield text[::-1]
        for offset in range(3):
            yield base64.b64encode(b"\0" * offset + text)[4:-4]


def test_sound_table_is_stated() -> None:
    statement = state_licence(build_msdm(MsdmPlan()), last_five)
    assert decode_statement(statement) == StatedTable(
        length=85,
        bytes_read=85,
        revision=3,
        checksum_good=True,
        oem_id="NORWEL",
        oem_table_id="SLATE",
        layout_faults=(),
        key_format="well-formed",
        key_token="6789N",  # noqa: S106 - an invented key's end
    )


def test_statement_is_one_line_of_sorted_json() -> None:
    statement = state_licence(build_msdm(MsdmPlan()), last_five)
    document = json.loads(statement)
    assert statement.startswith(b'{"closeout_statement":"licence-table","table":{')
    assert statement == json.dumps(document, sort_keys=True, separators=(",", ":")).encode()


@pytest.mark.parametrize("key", [b"\0" * 29, b"\xff" * 29, b"ABCDE-FGHIJ-KLMNO-PQRST-UVWXY", b""])
def test_no_token_for_what_is_no_key(key: bytes) -> None:
    decoded = decode_statement(state_licence(build_msdm(MsdmPlan(key=key)), never))
    assert isinstance(decoded, StatedTable)
    assert decoded.key_token == ""
    assert decoded.key_format != "well-formed"


def test_what_is_no_table_is_stated_as_fault() -> None:
    decoded = decode_statement(state_licence(b"MSDM", never))
    assert decoded == StatedFault(bytes_read=4, offset=4, message="the header takes 36 bytes")


@given(key=sound_keys(), place=st.integers(0, 85), cut=st.integers(0, 120))
def test_a_planted_key_is_in_no_statement(key: bytes, place: int, cut: int) -> None:
    table = build_msdm(MsdmPlan())
    slipped = table[:place] + key + table[place:]
    for raw in (build_msdm(MsdmPlan(key=key)), slipped, slipped[:cut], key, key + table):
        statement = state_licence(raw, last_five)
        for encoded in encodings(key):
            assert encoded not in statement


@given(key=sound_keys(), slip=st.integers(1, 20))
def test_of_a_slipped_key_not_even_a_group_is_kept(key: bytes, slip: int) -> None:
    table = build_msdm(MsdmPlan())
    statement = state_licence(table[: 56 - slip] + key, never)
    decoded = decode_statement(statement)
    assert isinstance(decoded, StatedTable)
    assert decoded.layout_faults
    assert all(group not in statement for group in key.split(b"-"))


@given(st.one_of(st.binary(max_size=120), st.builds(build_msdm, faulty_plans())))
def test_any_bytes_have_a_statement_that_comes_back(raw: bytes) -> None:
    statement = state_licence(raw, last_five)
    decoded = decode_statement(statement)
    assert decoded.bytes_read == len(raw)
    assert state_licence(raw, last_five) == statement


@given(sound_plans(), st.text(max_size=64))
def test_the_token_is_kept_as_given(plan: MsdmPlan, token: str) -> None:
    decoded = decode_statement(state_licence(build_msdm(plan), lambda _: token))
    assert isinstance(decoded, StatedTable)
    assert decoded.key_token == token


GOOD = json.loads(state_licence(build_msdm(MsdmPlan()), last_five))


def changed(**entries: object) -> bytes:
    document = {**GOOD, "table": {**GOOD["table"], **entries}}
    return json.dumps(document, sort_keys=True, separators=(",", ":")).encode()


@pytest.mark.parametrize(
    "statement",
    [
        b"",
        b"{}",
        b"[]",
        b"null",
        b"NaN",
        b"[" * 4000,
        b" " * 5000,
        b"\xff\xfe",
        build_msdm(MsdmPlan()),
        b'{"closeout_statement":"licence-table"}',
        b'{"closeout_statement":"licence-table","table":1}',
        b'{"closeout_statement":"other","fault":{"bytes_read":1,"message":"","offset":0}}',
        b'{"closeout_statement":"licence-table","fault":{"bytes_read":1,"offset":0}}',
        changed(key="BCDFG-HJKMP-QRTVW-XY234-6789N"),
        changed(key_format="splendid"),
        changed(key_token=None),
        changed(length=True),
        changed(checksum_good=1),
        changed(layout_faults="none"),
        changed(layout_faults=[1]),
        changed().replace(b":", b": "),
    ],
)
def test_anything_else_is_no_statement(statement: bytes) -> None:
    with pytest.raises(DecodeError):
        decode_statement(statement)


@given(st.binary(max_size=200))
def test_any_bytes_are_a_statement_or_an_error(raw: bytes) -> None:
    with pytest.raises(DecodeError):
        decode_statement(raw)
