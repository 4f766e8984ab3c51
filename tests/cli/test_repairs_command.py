"""`closeout repairs`, and a check that names what was repaired."""

import json
from pathlib import Path

import pytest

from closeout.cli.demo import demo_units
from closeout.cli.trouble import ExitCode
from closeout.expect.vocabulary import REPAIRS
from strategies.surroundings import call_in

HEALTHY = next(demo_units()).folder / "unit.jsonl.gz"


def test_all_repairs_are_listed(tmp_path: Path) -> None:
    told = call_in(tmp_path, "repairs")
    assert told.code == 0
    assert [line.split(":")[0] for line in told.out.splitlines()[:-1]] == list(REPAIRS)
    assert "the maker's service instructions come first" in told.out


@pytest.mark.parametrize("repair", REPAIRS)
def test_a_repair_is_told_in_sentences(tmp_path: Path, repair: str) -> None:
    told = call_in(tmp_path, "repairs", repair)
    assert told.code == 0
    assert "good is: " in told.out
    assert "asked: " in told.out


def test_a_misspelt_repair_is_one_line(tmp_path: Path) -> None:
    told = call_in(tmp_path, "repairs", "tuchpad")
    assert told.code == ExitCode.BAD_INPUT
    assert told.err.count("\n") == 1
    assert "did you mean touchpad?" in told.err


def test_a_repair_asks_and_never_holds_a_healthy_unit(tmp_path: Path) -> None:
    arguments = ("check", "--evidence", HEALTHY, "--profile", "any-notebook", "--json")
    told = call_in(tmp_path, *arguments, "--repair", "system-board", "--repair", "drive")
    report = json.loads(told.raw)
    assert told.code == ExitCode.UNDECIDED
    assert report["circumstances"]["repairs"] == ["system-board", "drive"]
    assert report["circumstances"]["repair_map"]["name"] == "repairs"
    musts = [finding for finding in report["findings"] if finding["weight"] == "must"]
    not_met = [finding for finding in musts if finding["outcome"] != "pass"]
    assert all(finding["rule"].startswith("connection.") for finding in not_met)
    assert all(finding["answerable"] and finding["rule"] in report["words"] for finding in not_met)
    assert report["hand_back"]["items"]
