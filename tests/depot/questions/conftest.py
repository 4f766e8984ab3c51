"""One planted and one null fleet for all questions, and a server that holds the first."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import create_engine

from depot.fleet import Fleet, make_fleet
from depot.fleet_drawn import Planted
from depot.questions import server

PLANTED = Planted(
    clashes=2,
    fillers=10,
    odd_station=5,
    odd_rule=6,
    odd_base=0.05,
    wrong_model=2,
    bad_part=(0, 1),
    stale_station=3,
)


@pytest.fixture(scope="session")
def planted() -> Fleet:
    return make_fleet(4, 2500, PLANTED, weeks=10)


@pytest.fixture(scope="session")
def planted_export(planted: Fleet, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return planted.write_parquet(tmp_path_factory.mktemp("planted") / "export")


@pytest.fixture(scope="session")
def planted_file(planted: Fleet, tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("ledger") / "ledger.sqlite"
    engine = create_engine(f"sqlite:///{file}")
    planted.fill(engine)
    engine.dispose()
    return file


@pytest.fixture(scope="session")
def planted_server(planted: Fleet) -> Iterator[str]:
    """Its address; a server of PostgreSQL that is started for these tests and ended after them."""
    if reason := server.reason_to_skip():
        pytest.skip(reason)
    with server.running() as address:
        engine = create_engine(address.replace("postgresql:", "postgresql+psycopg:"))
        planted.fill(engine)
        engine.dispose()
        yield address
