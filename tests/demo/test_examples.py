"""The example reports: what the demo units give today, valid, and loaded whole."""

import json
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from closeout.cli.demo import DemoUnit, demo_units
from closeout.expect.shipped import shipped_folder
from closeout.report.as_json import render_json
from closeout.report.from_json import load_report
from make_examples import make_example
from strategies.surroundings import call_in

REPORTS = shipped_folder("reports")
SCHEMA = Draft202012Validator(json.loads((REPORTS / "report-1.schema.json").read_text("utf-8")))
EXAMPLES = sorted((REPORTS / "examples").glob("*.json"))
UNITS = {unit.folder.name: unit for unit in demo_units()}


def test_every_unit_has_its_example() -> None:
    assert [path.stem for path in EXAMPLES] == sorted(UNITS)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_an_example_is_what_its_unit_gives_now(path: Path) -> None:
    made = make_example(UNITS[path.stem])
    assert path.read_bytes() == made, "run `python tools/make_examples.py`"


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_an_example_is_valid_and_loads_whole(path: Path) -> None:
    raw = path.read_bytes()
    SCHEMA.validate(json.loads(raw))
    report = load_report(raw)
    assert render_json(report) == raw
    assert load_report(render_json(report)) == report
    assert report.verdict.value == UNITS[path.stem].verdict


def first_reports(folder: Path) -> dict[str, bytes]:
    return {path.parts[-3]: path.read_bytes() for path in folder.glob("*/attempt-*/report.json")}


def test_the_demo_writes_the_examples(tmp_path: Path) -> None:
    call_in(tmp_path, "demo", "--out", "out")
    found = first_reports(tmp_path / "out")
    examples = [path.read_bytes() for path in EXAMPLES]
    assert sorted(found.values()) == sorted(examples)


@pytest.mark.parametrize("unit", UNITS.values(), ids=UNITS)
def test_check_of_the_shipped_evidence_is_the_example(unit: DemoUnit, tmp_path: Path) -> None:
    told = call_in(
        *(tmp_path, "check", "--json", "--evidence", unit.folder / "unit.jsonl.gz"),
        *("--work-order", unit.folder / "work-order.toml"),
    )
    answered = render_json(unit.answer(load_report(told.raw)))
    assert answered == (REPORTS / "examples" / f"{unit.folder.name}.json").read_bytes()
