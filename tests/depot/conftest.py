"""Ledgers for the tests: every test that asks for one runs on a file and on a server."""

from collections.abc import Iterator
from pathlib import Path

import pytest

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
