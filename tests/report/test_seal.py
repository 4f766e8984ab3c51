"""The seal: values of the standards, OpenSSL as another verifier, and all that may not pass."""

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.model.station import Station
from closeout.report.seal import (
    Seal,
    Signer,
    State,
    check_seal,
    from_base64url,
    make_seal,
    thumbprint,
    to_base64url,
)
from oracles import openssl

SECRET = bytes.fromhex("9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60")
PUBLIC = bytes.fromhex("d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a")
"""RFC 8032, section 7.1, test 1; the key of RFC 8037, appendix A, too."""
STATION = Station(
    code="B-07", key=to_base64url(PUBLIC), first_day="2026-11-01", last_day="2027-11-01"
)
OTHER = Station(
    code="B-08",
    key=to_base64url(
        bytes.fromhex("3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c")
    ),
    first_day="2026-11-01",
    last_day="2027-11-01",
)
SIGNER = Signer(station=STATION, secret=to_base64url(SECRET))
REPORT = b'{"report": 1}\n'
SEAL = make_seal(REPORT, SIGNER)
KNOWN = (OTHER, STATION)


def test_a_key_is_named_as_rfc_8037_names_it() -> None:
    """Appendix A.3."""
    assert STATION.key == "11qYAYKxCrfVS_7TyWQHOg7hcvPapiMlrwIaaPcHURo"
    assert thumbprint(STATION.key) == "kPrK_qmxVWaYVA9wwBF6Iuo3vVzz7TxHCTwXBygrS4k"


def test_it_is_a_detached_signature_with_two_members() -> None:
    head, empty, signature = SEAL.decode().removesuffix("\n").split(".")
    assert json.loads(from_base64url(head)) == {"alg": "EdDSA", "kid": thumbprint(STATION.key)}
    assert (empty, len(from_base64url(signature))) == ("", 64)


def test_the_same_bytes_have_the_same_seal() -> None:
    """Ed25519 draws nothing (RFC 8032, 5.1.6)."""
    assert make_seal(REPORT, SIGNER) == SEAL


@pytest.mark.oracle
@pytest.mark.skipif(bool(openssl.reason_to_skip()), reason=openssl.reason_to_skip())
@given(raw=st.binary(max_size=300))
def test_openssl_verifies_it_and_refuses_another(
    raw: bytes, tmp_path_factory: pytest.TempPathFactory
) -> None:
    folder = tmp_path_factory.mktemp("openssl")
    head, _, signature = make_seal(raw, SIGNER).decode().removesuffix("\n").split(".")
    signed = f"{head}.{to_base64url(raw)}".encode()
    assert openssl.verifies(folder, signed, from_base64url(signature), PUBLIC)
    assert not openssl.verifies(folder, signed + b"A", from_base64url(signature), PUBLIC)


@pytest.mark.oracle
@pytest.mark.skipif(bool(openssl.reason_to_skip()), reason=openssl.reason_to_skip())
def test_openssl_agrees_on_the_example_of_rfc_8037(tmp_path: Path) -> None:
    """Appendix A.4: so OpenSSL is asked in the right way."""
    head, payload = "eyJhbGciOiJFZERTQSJ9", "RXhhbXBsZSBvZiBFZDI1NTE5IHNpZ25pbmc"
    signature = (
        "hgyY0il_MGCjP0JzlnLWG1PPOt7-09PGcvMg3AIbQR6dWbhijcNR4ki4iylGjg5BhVsPt9g7sVvpAr_MuM0KAg"
    )
    assert from_base64url(payload) == b"Example of Ed25519 signing"
    signed = f"{head}.{payload}".encode()
    assert openssl.verifies(tmp_path, signed, from_base64url(signature), PUBLIC)


def test_it_is_intact_by_the_station_that_made_it() -> None:
    assert check_seal(REPORT, SEAL, KNOWN) == Seal(state=State.INTACT, station=STATION)
    assert check_seal(REPORT, SEAL.rstrip(b"\n"), KNOWN).state is State.INTACT


def test_a_key_of_nobody_is_unknown() -> None:
    assert check_seal(REPORT, SEAL, (OTHER,)) == Seal(state=State.UNKNOWN)
    assert check_seal(REPORT, SEAL, ()) == Seal(state=State.UNKNOWN)


@pytest.mark.parametrize("bit", range(len(REPORT) * 8))
def test_any_bit_of_the_report_that_differs_is_a_change(bit: int) -> None:
    changed = bytearray(REPORT)
    changed[bit // 8] ^= 1 << bit % 8
    assert check_seal(bytes(changed), SEAL, KNOWN).state is State.CHANGED


@pytest.mark.parametrize("raw", [b"", REPORT[:-1], REPORT + b"\n", REPORT.replace(b" ", b"")])
def test_the_exact_bytes_are_sealed(raw: bytes) -> None:
    assert check_seal(raw, SEAL, KNOWN).state is State.CHANGED


@pytest.mark.parametrize("bit", range(512))
def test_any_bit_of_the_signature_that_differs_is_seen(bit: int) -> None:
    head, _, signature = SEAL.decode().removesuffix("\n").split(".")
    changed = bytearray(from_base64url(signature))
    changed[bit // 8] ^= 1 << bit % 8
    other = f"{head}..{to_base64url(bytes(changed))}\n".encode()
    assert check_seal(REPORT, other, KNOWN) == Seal(state=State.CHANGED, station=STATION)


@pytest.mark.parametrize("place", range(len(SEAL) - 1))
def test_no_character_of_a_seal_can_be_another(place: int) -> None:
    """Nor can it be written in a second way: the last bits of base64url that nothing uses."""
    for character in b"AB_-.=\n ":
        changed = SEAL[:place] + bytes([character]) + SEAL[place + 1 :]
        if changed != SEAL:
            assert check_seal(REPORT, changed, KNOWN).state is not State.INTACT


def header(**members: object) -> bytes:
    """A seal of the station with another header, rightly signed where the library signs it."""
    _, _, signature = SEAL.decode().split(".")
    return f"{to_base64url(json.dumps(members).encode())}..{signature}".encode()


NAME = thumbprint(STATION.key)


@pytest.mark.parametrize(
    "seal",
    [
        b"",
        b"..",
        b"a.b",
        b"\xff\xfe..",
        SEAL + SEAL,
        SEAL.replace(b"..", b".e30."),
        header(alg="none", kid=NAME),
        header(alg="HS256", kid=NAME),
        header(alg="EdDSA"),
        header(alg="EdDSA", kid=7),
        header(alg="EdDSA", kid=NAME, crit=["b64"], b64=False),
        header(alg="EdDSA", kid=NAME, jwk={"kty": "OKP", "crv": "Ed25519", "x": STATION.key}),
        f"{to_base64url(b'[' * 5000)}..x".encode(),
    ],
)
def test_what_has_another_form_is_no_seal(seal: bytes) -> None:
    """Nobody chooses the algorithm, brings a key along or leaves the signature out."""
    assert check_seal(REPORT, seal, KNOWN) == Seal(state=State.NO_SEAL)


@given(raw=st.binary(max_size=40), seal=st.binary(max_size=200))
def test_nothing_makes_it_raise(raw: bytes, seal: bytes) -> None:
    assert check_seal(raw, seal, KNOWN).state is not State.INTACT


@given(signature=st.binary(max_size=80))
def test_only_a_signature_of_64_bytes_is_one(signature: bytes) -> None:
    head = SEAL.decode().split(".")[0]
    seal = f"{head}..{to_base64url(signature)}\n".encode()
    wanted = State.CHANGED if len(signature) == 64 else State.NO_SEAL
    assert check_seal(REPORT, seal, KNOWN).state is wanted


def test_a_report_may_be_as_large_as_reports_are() -> None:
    raw = b"x" * (5 << 20)
    assert check_seal(raw, make_seal(raw, SIGNER), KNOWN).state is State.INTACT
    assert check_seal(raw + b"x", make_seal(raw, SIGNER), KNOWN).state is State.CHANGED


@given(raw=st.binary(max_size=100))
def test_base64url_comes_back(raw: bytes) -> None:
    assert from_base64url(to_base64url(raw)) == raw
