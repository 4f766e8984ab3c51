"""Ledgers for the tests: every test that asks for one runs on a file and on a server."""

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

from closeout.model.station import Station
from closeout.report.seal import Signer, to_base64url
from strategies.postgres import Server, reason_to_skip, running_server


@pytest.fixture(scope="session")
def server() -> Iterator[Server]:
    """One server for all tests of a worker; skips, and says why, where there can be none."""
    if reason := reason_to_skip():
        pytest.skip(reason)
    with running_server() as running:
        yield running


@pytest.fixture(params=["file", "server"])
def address(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Where a ledger is to be that is not there yet."""
    if request.param == "file":
        return str(tmp_path / "ledger.sqlite")
    running: Server = request.getfixturevalue("server")
    return running.new_database()


@pytest.fixture
def _one_processor(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "sched_getaffinity", lambda _: {0})


@pytest.fixture
def _two_processors(_one_processor: None, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "sched_getaffinity", lambda _: {0, 1})


@pytest.fixture(scope="module")
def signer() -> Signer:
    """A station that seals in 2026."""
    private = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))
    public = private.public_key().public_bytes(Encoding.Raw, PublicFormat.Raw)
    station = Station(
        code="B-09", key=to_base64url(public), first_day="2026-01-01", last_day="2026-12-31"
    )
    return Signer(station=station, secret=to_base64url(bytes(range(32))))
