"""`closeout demo`: the shipped units, judged as they shipped."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from closeout.cli import demo
from closeout.cli.demo import demo_units
from closeout.expect.shipped import shipped_folder
from closeout.report.from_json import load_report
from strategies.surroundings import Told, call_in

SHIPPED = {
    "fen-14-healthy": "release",
    "fen-14-ribbon-left-out": "hold",
    "skerry-13-new-board": "hold",
    "osier-15-worn-pack": "hold",
}
REASONS = {
    "fen-14-healthy": "16 answered yes",
    "fen-14-ribbon-left-out": "ingerprint",
    "skerry-13-new-board": "erial number",
    "osier-15-worn-pack": "SODIMM B",
}


@pytest.fixture(scope="module")
def played(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Told]:
    """The demo, played once, and the folder it was played in."""
    place = tmp_path_factory.mktemp("demo")
    return place, call_in(place, "demo")


@pytest.fixture
def own_units(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The demo's folder of a copy of what ships, which a test may change."""
    copy = tmp_path / "shipped" / "profiles"
    shutil.copytree(shipped_folder("profiles"), copy)
    monkeypatch.setattr(demo, "shipped_folder", lambda name: copy.parent / name)
    return copy / "demo"


def written(place: Path) -> Iterator[Path]:
    yield from sorted((place / "closeout-reports").glob("*/*/report.json"))


def test_the_list_names_the_units_there_are() -> None:
    assert {unit.folder.name: unit.verdict for unit in demo_units()} == SHIPPED
    folders = {path.name for path in (shipped_folder("profiles") / "demo").iterdir()}
    assert folders - {"demo.toml", "renaming.toml"} == set(SHIPPED)


def test_every_verdict_is_as_shipped(played: tuple[Path, Told]) -> None:
    place, told = played
    assert (told.code, told.err) == (0, "")
    found = [load_report(path.read_bytes()).verdict.value for path in written(place)]
    assert sorted(found) == sorted(SHIPPED.values())
    assert "not as it should be" not in told.out


@pytest.mark.parametrize("name", SHIPPED)
def test_each_unit_is_told_with_its_reason(played: tuple[Path, Told], name: str) -> None:
    _, told = played
    titles = {unit.folder.name: unit.title for unit in demo_units()}
    _, _, rest = told.out.partition(f"\n=== {name}: {titles[name]}\n")
    story, _, _ = rest.partition("\n===")
    lines = story.splitlines()
    assert SHIPPED[name].upper() in lines[0]
    assert lines[-1].startswith("Report: ")
    assert any(REASONS[name] in line for line in lines[2:6])


def test_each_has_a_whole_report(played: tuple[Path, Told]) -> None:
    place, _ = played
    reports = list(written(place))
    assert len(reports) == len(SHIPPED)
    for report in reports:
        assert {file.name for file in report.parent.iterdir()} == {
            *("report.json", "report.html", "evidence.jsonl.gz", "work-order.toml"),
        }


def test_out_is_the_folder_of_the_reports(tmp_path: Path) -> None:
    assert call_in(tmp_path, "demo", "--out", "here").code == 0
    assert call_in(tmp_path, "demo", "--out", "here").code == 0
    assert len(list((tmp_path / "here").glob("*/attempt-0002-*/report.json"))) == len(SHIPPED)


@pytest.mark.parametrize("name", SHIPPED)
def test_another_verdict_than_shipped_is_our_error(own_units: Path, name: str) -> None:
    listed = own_units / "demo.toml"
    wanted = SHIPPED[name]
    spoilt = "hold" if wanted == "release" else "release"
    start = listed.read_text("utf-8").index(name)
    text = listed.read_text("utf-8")
    changed = text[start:].replace(f'"{wanted}"', f'"{spoilt}"', 1)
    listed.write_text(text[:start] + changed, "utf-8")
    told = call_in(own_units.parent, "demo")
    assert told.code == 4
    assert told.out.count(f"shipped as {spoilt}: this is not as it should be") == 1
    assert len(list(written(own_units.parent))) == len(SHIPPED), "the others are judged too"


def test_a_unit_that_changed_is_our_error(own_units: Path) -> None:
    """The verdict is made out of the evidence, not taken from the list."""
    worn = (own_units / "osier-15-worn-pack" / "unit.jsonl.gz").read_bytes()
    (own_units / "fen-14-healthy" / "unit.jsonl.gz").write_bytes(worn)
    told = call_in(own_units.parent, "demo")
    assert told.code == 4
    assert "shipped as release: this is not as it should be" in told.out


def test_a_spoilt_installation_is_our_error(own_units: Path) -> None:
    (own_units / "fen-14-healthy" / "unit.jsonl.gz").write_bytes(b"spoilt")
    told = call_in(own_units.parent, "demo")
    assert (told.code, told.err.count("\n")) == (4, 1)
