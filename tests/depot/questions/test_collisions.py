"""A planted fleet and a null fleet: what was planted is found, and nothing else."""

from contextlib import closing
from pathlib import Path

import pyarrow.compute as pc
import pytest
from sqlalchemy import create_engine

from closeout.depot.across.moves import Meeting
from closeout.depot.collisions import Collisions, find_collisions, newest_week
from closeout.depot.questions.opening import OpeningError, open_index
from closeout.depot.statistics.wilson import share_of
from closeout.depot.summary import Terms, sum_up
from closeout.depot.weeks import weeks_until, whole_weeks
from depot.fleet import Fleet, make_fleet
from depot.fleet_drawn import RULES

FAR = 4_000_000_000


@pytest.fixture(scope="module")
def null_export(tmp_path_factory: pytest.TempPathFactory) -> Path:
    fleet = make_fleet(4, 2500, weeks=10)
    return fleet.write_parquet(tmp_path_factory.mktemp("null") / "export")


def look(place: Path) -> Collisions:
    index = open_index(str(place))
    return find_collisions(index, weeks_until(newest_week(index), 6), 30, FAR)


def named(meetings: tuple[Meeting, ...]) -> list[tuple[str, str]]:
    return sorted({(each.kind, each.value) for each in meetings})


def test_what_was_planted_is_found_and_a_null_fleet_is_quiet(
    planted: Fleet, planted_export: Path, null_export: Path
) -> None:
    found, quiet = look(planted_export), look(null_export)
    assert named(found.clashes) == sorted(set(planted.clashes))
    assert [(each.kind, each.value, each.units) for each in found.fillers] == [
        ("board", "TO BE WRITTEN", 10)
    ]
    assert ("station-05", RULES[6]) in [(odd.place, odd.rule) for odd in found.stations.odd]
    assert [(each.model, each.rule) for each in found.profiles] == [("Osier 13", "display.size")]
    assert found.profiles[0].alike == "1920 x 1200"
    assert {odd.place.rpartition("-")[2] for odd in found.parts.odd} == {"1"}
    assert {odd.rule for odd in found.parts.odd} == {"display"}
    assert (quiet.clashes, quiet.fillers, quiet.profiles) == ((), (), ())
    assert (quiet.stations.odd, quiet.parts.odd) == ((), ())
    assert quiet.stations.tests > 100
    assert quiet.moves
    assert quiet.untold == 0


def test_the_two_ways_to_gather_find_the_same(planted_export: Path, planted_file: Path) -> None:
    """By hash over Parquet, by text in SQLite."""
    assert look(planted_export) == look(planted_file)


def test_collisions_of_some_months_are_the_same_everywhere(
    planted_export: Path, planted_file: Path, planted_server: str
) -> None:
    def since(place: object) -> Collisions:
        with closing(open_index(str(place))) as whole:
            index = whole.since("2025-02")
            return find_collisions(index, weeks_until(newest_week(index), 4), 30, FAR)

    found = since(planted_export)
    assert found.stations.tests
    assert since(planted_file) == found
    assert since(planted_server) == found


def test_where_nothing_was_judged_all_is_nothing(planted: Fleet, tmp_path: Path) -> None:
    """A new ledger, one of drafts and unrun units alone, and months that have no report."""
    reports = planted.tables["report"]
    nothing = {name: table.slice(0, 0) for name, table in planted.tables.items()}
    others = reports.filter(pc.not_equal(reports["kind"], "judged"))
    for name, fleet in (
        ("new", Fleet(tables=nothing)),
        ("drafts", Fleet(tables={**nothing, "report": others})),
    ):
        file = tmp_path / f"{name}.sqlite"
        engine = create_engine(f"sqlite:///{file}")
        fleet.fill(engine)
        engine.dispose()
        for index in (open_index(str(file)), open_index(str(file)).since("2999-01")):
            summary = sum_up(index, Terms(days=30, stale_days=30, now=FAR))
            assert (summary.units, summary.first, summary.last, summary.attempts) == (0, 0, 0, 0)
            assert summary.whole.first == share_of(0, 0)
            found = find_collisions(index, whole_weeks(FAR, newest_week(index), 4), 30, FAR)
            assert (found.clashes, found.stations.odd, found.profiles) == ((), (), ())


def test_what_is_no_ledger_is_said(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"no database at all, but long enough to be looked at" * 40)
    (tmp_path / "report" / "month=2025-01").mkdir(parents=True)
    (tmp_path / "report" / "month=2025-01" / "part-0.parquet").write_bytes(b"no parquet")
    for place, told in (
        (tmp_path / "nothing", "neither an export"),
        (tmp_path / "file", "cannot be opened"),
        (tmp_path, "cannot be opened"),
        (tmp_path / "report", "no export"),
    ):
        with pytest.raises(OpeningError, match=told):
            open_index(str(place))
    with pytest.raises(OpeningError, match="Spark reads"):
        open_index(str(tmp_path / "file"), "local[1]")
    with pytest.raises(OpeningError, match="cannot be"):
        open_index("postgresql://u:secret@:bad/x")
