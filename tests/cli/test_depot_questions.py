"""`closeout depot summary` and `collisions` as they are called: forms, files, bad input."""

import argparse
import json
from io import BytesIO, TextIOWrapper
from pathlib import Path
from types import ModuleType

import pytest

from closeout.cli import asked_index, depot_collisions, depot_summary, ledger_option
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import InputTroubleError
from closeout.depot.address import read_address
from closeout.depot.ledger import make_ledger
from closeout.depot.weeks import Weeks, is_week, week_of, weeks_until, whole_weeks
from depot.fleet import make_fleet
from depot.fleet_drawn import Planted

NOW = 1_753_000_000
FLEET = Planted(clashes=1, fillers=8, wrong_model=2, stale_station=3)


@pytest.fixture(scope="module")
def export(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("fleet") / "export"
    return make_fleet(4, 1200, FLEET, weeks=28).write_parquet(folder)


def ask(command: ModuleType, folder: Path, *arguments: object) -> str:
    parser = argparse.ArgumentParser()
    command.add_arguments(parser)
    stdout = TextIOWrapper(BytesIO(), encoding="utf-8", newline="")
    surroundings = Surroundings(
        stdin=BytesIO(),
        stdout=stdout,
        stderr=stdout,
        now=lambda: NOW,
        folder=folder,
        machine=folder,
    )
    ending = command.run(parser.parse_args(list(map(str, arguments))), surroundings)
    assert ending == 0
    stdout.seek(0)
    return stdout.read()


def test_a_summary_in_words_with_its_files(export: Path, tmp_path: Path) -> None:
    told = ask(depot_summary, tmp_path, "--export", export, "--html", "a.html", "--csv", "a.csv")
    assert "First-pass yield: " in told
    assert "  station-03: stick build build 1.0" in told
    assert f"Written: {tmp_path / 'a.html'}" in told
    assert (tmp_path / "a.html").read_text("utf-8").startswith("<!DOCTYPE html>")
    assert (tmp_path / "a.csv").read_bytes().startswith(b'"list","group","item"')


def test_a_summary_as_json_counts_the_same_from_a_month_on(export: Path, tmp_path: Path) -> None:
    whole = json.loads(ask(depot_summary, tmp_path, "--export", export, "--json"))
    later = ask(depot_summary, tmp_path, "--export", export, "--json", "--since", "2025-05")
    assert 0 < json.loads(later)["units"] < whole["units"]


def test_a_summary_of_one_repair_says_so(export: Path, tmp_path: Path) -> None:
    told = ask(
        depot_summary, tmp_path, "--export", export, "--repair", "screen", "--model", "Fen 14"
    )
    assert told.startswith("Only: model Fen 14, repair screen\n")
    whole = ask(depot_summary, tmp_path, "--export", export)
    assert whole.splitlines()[1] != told.splitlines()[2]


@pytest.mark.parametrize(
    ("option", "wanted", "wrong"),
    [
        (
            "--model",
            "fen14",
            "--model: there is no order of 'fen14'; did you mean Fen 14\\?; known: Al",
        ),
        ("--week", "x", "--week: there is no order of 'x'; known: 2025-W"),
        ("--repair", "keyboard+", "did you mean keyboard"),
        ("--station", "", "--station: there is no order of ''; known: "),
    ],
)
def test_a_name_that_no_order_has_is_said_with_the_nearest(
    export: Path, tmp_path: Path, option: str, wanted: str, wrong: str
) -> None:
    with pytest.raises(InputTroubleError, match=wrong):
        ask(depot_summary, tmp_path, "--export", export, option, wanted)


def test_a_redacted_summary_shows_no_unit(export: Path, tmp_path: Path) -> None:
    plain = json.loads(ask(depot_summary, tmp_path, "--export", export, "--json"))
    hidden = ask(depot_summary, tmp_path, "--export", export, "--json", "--redact")
    units = {each["unit"].partition(" ")[2] for each in plain["returned"]}
    assert units
    assert not [unit for unit in units if unit in hidden]


def test_collisions_in_words_say_why_and_what_to_look_at(export: Path, tmp_path: Path) -> None:
    told = ask(depot_collisions, tmp_path, "--export", export)
    assert "Clashes: 9" in told
    assert "why: no order put it in" in told
    assert "look: " in told
    assert "board serial TO BE WRITTEN: 8 units" in told
    assert "Osier 13: display.size" in told
    assert "the same: 1920 x 1200" in told
    assert "What could have been seen" in told


def test_redacted_collisions_show_no_serial(export: Path, tmp_path: Path) -> None:
    plain = ask(depot_collisions, tmp_path, "--export", export, "--json")
    hidden = ask(depot_collisions, tmp_path, "--export", export, "--json", "--redact")
    words = ask(depot_collisions, tmp_path, "--export", export, "--redact")
    found, masked = json.loads(plain), json.loads(hidden)
    assert len(found["clashes"]) == len(masked["clashes"]) == 9
    serials = {one["value"] for each in ("clashes", "moves") for one in found[each]}
    units = {
        seen["unit"].partition(" ")[2]
        for each in ("clashes", "moves")
        for one in found[each]
        for seen in one["seen"]
    }
    assert units
    for serial in serials | units:
        assert serial not in hidden
        assert serial not in words


def test_weeks_can_be_named(export: Path, tmp_path: Path) -> None:
    told = ask(
        depot_collisions,
        tmp_path,
        "--export",
        export,
        "--json",
        "--until",
        "2025-W10",
        "--weeks",
        "2",
    )
    assert json.loads(told)["weeks"] == {"first": "2025-W09", "last": "2025-W10"}


@pytest.mark.parametrize(
    ("command", "arguments", "wrong"),
    [
        (depot_summary, ("--days", "0"), "--days: 0"),
        (depot_summary, ("--stale-days", "-1"), "--stale-days: -1"),
        (depot_summary, ("--since", "yesterday"), "no month"),
        (depot_summary, ("--spark", "local"), "give its folder"),
        (depot_summary, ("--ledger", "x", "--export", "y"), "give one of them"),
        (depot_summary, ("--export", "nowhere"), "neither an export"),
        (depot_summary, ("--ledger", "nowhere"), "nowhere: no ledger there"),
        (depot_summary, ("--ledger", "mysql://host/name"), "mysql:// is not known"),
        (depot_summary, (), "closeout-ledger.sqlite"),
        (depot_collisions, ("--weeks", "0"), "--weeks: 0"),
        (depot_collisions, ("--until", "2025-W54"), "is not a week"),
        (depot_collisions, ("--until", "soon"), "is not a week"),
    ],
)
def test_bad_input_is_one_line(
    command: ModuleType,
    arguments: tuple[str, ...],
    wrong: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.delenv(ledger_option.LEDGER, raising=False)
    with pytest.raises(InputTroubleError, match=wrong) as trouble:
        ask(command, tmp_path, *arguments)
    assert len(trouble.value.lines) == 1


@pytest.mark.parametrize("command", [depot_summary, depot_collisions])
def test_a_ledger_without_reports_has_its_answer(command: ModuleType, tmp_path: Path) -> None:
    make_ledger(read_address("ledger.sqlite", tmp_path)).close()
    told = ask(command, tmp_path, "--ledger", "ledger.sqlite")
    assert "0 units" in told or "Clashes: 0" in told
    assert ask(command, tmp_path, "--ledger", "ledger.sqlite", "--since", "2025-05") == told


def test_a_ledger_of_a_newer_version_is_not_asked(tmp_path: Path) -> None:
    ledger = make_ledger(read_address("ledger.sqlite", tmp_path))
    with ledger.writing() as connection:
        connection.exec_driver_sql("UPDATE alembic_version SET version_num = '9999'")
    ledger.close()
    with pytest.raises(InputTroubleError, match=r"ledger.sqlite: made by a newer version"):
        ask(depot_summary, tmp_path, "--ledger", "ledger.sqlite")


def test_a_file_of_another_kind_is_named_as_such(tmp_path: Path) -> None:
    (tmp_path / "report.pdf").write_bytes(b"%PDF-1.7 " * 100)
    with pytest.raises(InputTroubleError, match=r"report.pdf: no ledger, but a file of another"):
        ask(depot_summary, tmp_path, "--ledger", "report.pdf")


def test_a_file_that_cannot_be_written_is_said(export: Path, tmp_path: Path) -> None:
    with pytest.raises(InputTroubleError, match="nowhere"):
        ask(depot_summary, tmp_path, "--export", export, "--csv", "nowhere/a.csv")


def test_a_missing_library_names_its_extra() -> None:
    for name, extra in (("ibis.expr", "depot"), ("pyspark", "spark"), ("psycopg", "postgres")):
        trouble = asked_index.trouble_of(ImportError(name=name))
        assert trouble.lines[0].endswith(f"install closeout[{extra}]")
    with pytest.raises(ImportError):
        asked_index.trouble_of(ImportError(name="closeout.nowhere"))


def test_weeks_follow_one_another_over_the_turn_of_the_year() -> None:
    assert weeks_until("2026-W02", 4).text == "2025-W51 to 2026-W02"
    assert weeks_until("2021-W01", 2).first == "2020-W53"
    assert weeks_until("2021-W01", 1).text == "2021-W01"
    assert week_of(NOW) == "2025-W29"
    assert (is_week("2020-W53"), is_week("2021-W53"), is_week("2021-W1")) == (True, False, False)


def test_no_week_is_before_the_first() -> None:
    assert weeks_until("0001-W02", 53) == Weeks(first="0001-W01", last="0001-W02", count=2)


@pytest.mark.parametrize(
    ("newest", "last"), [("2025-W29", "2025-W28"), ("2025-W20", "2025-W20"), ("", "2025-W28")]
)
def test_a_week_that_goes_on_and_a_clock_ahead_are_left_out(newest: str, last: str) -> None:
    assert whole_weeks(NOW, newest, 4).last == last
