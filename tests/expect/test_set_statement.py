"""What a lead signs, and what that says of the profile in force."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.expect.set_statement import (
    NO_STATEMENT,
    SetStatement,
    SignedSets,
    parse_statement,
    signature_of,
    write_statement,
)
from closeout.model.profile_signature import SignatureState
from closeout.model.report import SourceFile

FAMILY, MODEL, OTHER = "a" * 64, "b" * 64, "c" * 64
CHAIN = (
    SourceFile(name="northlake/fen", revision="1", digest=FAMILY),
    SourceFile(name="northlake/fen-14", revision="4", digest=MODEL),
)
FILES = {"northlake/fen": FAMILY, "northlake/fen-14": MODEL}
NAMES = st.text(st.characters(codec="utf-8", categories=["L", "N"]), min_size=1, max_size=20)
DIGESTS = st.text("0123456789abcdef", min_size=64, max_size=64)
DAYS = st.dates().map(lambda day: f"{day:%Y-%m-%d}").filter(lambda text: len(text) == 10)


def stated(version: str, on: str, **files: str) -> SetStatement:
    named = {name.replace("_", "/", 1): digest for name, digest in files.items()}
    return SetStatement(version=version, on=on, files=FILES | named)


def known(*statements: SetStatement) -> SignedSets:
    return SignedSets(lead="L-01", statements=statements)


@given(version=NAMES, on=DAYS, files=st.dictionaries(NAMES, DIGESTS, min_size=1, max_size=5))
def test_what_is_written_reads_back(version: str, on: str, files: dict[str, str]) -> None:
    statement = SetStatement(version=version, on=on, files=files)
    raw = write_statement(statement)
    assert parse_statement(raw) == statement
    assert raw.isascii()


@given(st.binary(max_size=200))
def test_other_bytes_are_no_statement(raw: bytes) -> None:
    assert parse_statement(raw) is None


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("profile_set", 2),
        ("profile_set", None),
        ("version", ""),
        ("version", "2026\n3"),
        ("version", "x" * 201),
        ("version", 3),
        ("on", "2026-02-30"),
        ("on", 20261129),
        ("files", {}),
        ("files", []),
        ("files", {"northlake/fen": "A" * 64}),
        ("files", {"northlake/fen": 7}),
        ("files", {"": FAMILY}),
        ("more", 1),
    ],
)
def test_a_statement_has_its_form(key: str, value: object) -> None:
    tree = json.loads(write_statement(stated("2026.3", "2026-11-29")))
    assert parse_statement(json.dumps(tree | {key: value}).encode()) is None


def test_nesting_without_an_end_is_no_statement() -> None:
    assert parse_statement(b"[" * 100_000) is None


def test_a_profile_is_signed_with_all_that_it_was_made_of() -> None:
    found = signature_of(CHAIN, known(stated("2026.3", "2026-11-29")))
    assert found.state is SignatureState.SIGNED
    assert (found.lead, found.version, found.on) == ("L-01", "2026.3", "2026-11-29")
    assert (found.newer, found.reason) == ("", "")


def test_a_changed_parent_is_not_signed() -> None:
    found = signature_of(CHAIN, known(stated("2026.3", "2026-11-29", northlake_fen=OTHER)))
    assert found.state is SignatureState.UNSIGNED
    assert found.reason == "northlake/fen is not as the lead signed it in 2026.3"


def test_a_profile_of_ones_own_is_not_signed() -> None:
    strange = SourceFile(name="own/model", revision="1", digest=OTHER)
    found = signature_of((strange,), known(stated("2026.3", "2026-11-29")))
    assert found.state is SignatureState.UNSIGNED
    assert found.reason == "own/model is none of the profiles that the lead signed in 2026.3"


def test_without_a_statement_the_reason_is_kept() -> None:
    assert signature_of(CHAIN, SignedSets(lead="L-01")).reason == NO_STATEMENT
    found = signature_of(CHAIN, SignedSets(lead="L-01", reason="set.jws is not what a lead signed"))
    assert found.state is SignatureState.UNSIGNED
    assert (found.lead, found.reason) == ("L-01", "set.jws is not what a lead signed")


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize(
    ("old", "new"),
    [
        (("2026.3", "2026-11-28"), ("2026.4", "2026-11-29")),
        (("2026.9", "2026-11-29"), ("2026.10", "2026-11-29")),
        (("2026.4", "2026-11-28"), ("2026.3", "2026-11-29")),
    ],
)
def test_the_set_signed_later_takes_the_place(
    old: tuple[str, str], new: tuple[str, str], *, turned: bool
) -> None:
    """Of one day the higher version, and 10 is higher than 9."""
    sets = [stated(*old), stated(*new, **{"northlake_fen-14": OTHER})]
    found = signature_of(CHAIN, known(*(reversed(sets) if turned else sets)))
    assert found.state is SignatureState.SUPERSEDED
    assert (found.version, found.on, found.newer) == (*old, new[0])


def test_a_later_set_that_left_the_profile_as_it_was_signs_it_again() -> None:
    sets = (stated("2026.3", "2026-11-28"), stated("2026.4", "2026-11-29", other_model=OTHER))
    found = signature_of(CHAIN, known(*sets))
    assert (found.state, found.version) == (SignatureState.SIGNED, "2026.4")
