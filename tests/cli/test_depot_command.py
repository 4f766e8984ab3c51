"""`closeout depot`: reports of the demo taken in, asked for, copied, exported and forgotten."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from closeout.cli import depot_add, ledger_option
from closeout.cli.main import make_parser
from closeout.depot import proof
from closeout.expect.shipped import shipped_folder
from closeout.media.report_file import pack_folder
from closeout.report.from_json import load_report
from strategies.depot_reports import files_of, lay_down, lay_many, raw_of, tree_of
from strategies.surroundings import Told, call_in
from strategies.written_attempt import write_demo

EXAMPLES = shipped_folder("reports") / "examples"
LABEL = "NL7QK42D"
OTHER = "TF26H0938"


@pytest.fixture(autouse=True)
def _alone(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in (ledger_option.LEDGER, depot_add.STATIONS):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(os, "sched_getaffinity", lambda _: {0})  # no processes beside this one


def depot(folder: Path, *arguments: object, terminal: bool = False) -> Told:
    return call_in(folder, "depot", *arguments, terminal=terminal)


@pytest.fixture
def filled(tmp_path: Path) -> Path:
    """A folder with a ledger of the shipped examples in it."""
    assert depot(tmp_path, "add", *sorted(EXAMPLES.glob("*.json"))).code == 0
    return tmp_path


def test_what_a_check_wrote_goes_in_as_folder_and_as_file_of_a_stick(tmp_path: Path) -> None:
    written = write_demo(tmp_path)
    told = depot(tmp_path, "add", "closeout-reports")
    assert (told.code, told.out.splitlines()[0]) == (0, "1 added.")
    assert told.err == "kept: 1 report, 1 of them new\n"
    (tmp_path / "stick").mkdir()
    (tmp_path / "stick" / "any.zip").write_bytes(pack_folder(written))
    told = depot(tmp_path, "add", "stick", "--quiet")
    assert (told.out, told.err) == ("0 added, 1 known already.\n", "")
    assert (tmp_path / ledger_option.FILE).is_file()
    told = depot(tmp_path, "unit", load_report((written / "report.json").read_bytes())
                 .circumstances.order)  # fmt: skip
    assert (told.code, told.err) == (0, "")
    assert " is the number of an order of label " in told.out.splitlines()[0]
    told = depot(tmp_path, "unit", "no such order")
    assert (told.code, told.out) == (2, "")
    assert "no unit in the ledger has it" in told.err


def test_the_seal_of_a_station_is_told(tmp_path: Path) -> None:
    call_in(tmp_path, "station", "init", tmp_path / "s", "--code", "B-07")
    written = write_demo(tmp_path, "--station-key", tmp_path / "s")
    told = depot(tmp_path, "add", written, "--require-seal")
    assert told.code == 2
    assert told.err.splitlines()[0] == (
        f"closeout: {written}: set aside: sealed with a key of none of the stations known here"
    )
    assert told.out == "0 added, 1 set aside.\n"
    told = depot(tmp_path, "add", written, "--require-seal", "--stations", tmp_path / "s")
    assert (told.code, told.out) == (0, "1 added.\n")
    assert "0 set aside" in depot(tmp_path, "set-aside").out
    sealed = written / "report.json"
    sealed.write_bytes(sealed.read_bytes().replace(b'"hold"', b'"release"', 1))
    told = depot(tmp_path, "add", written, "--stations", tmp_path / "s")
    assert "changed: these are not the bytes that station B-07 sealed" in told.err
    (line, last) = depot(tmp_path, "set-aside").out.splitlines()
    assert line.startswith("2026-11-20 ")
    assert last == "1 set aside"
    (answer,) = depot(tmp_path, "set-aside", "--json").out.splitlines()
    assert json.loads(answer)["name"] == str(written)


def test_a_variable_names_the_ledger(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(ledger_option.LEDGER, "named.sqlite")
    depot(tmp_path, "add", lay_down(tmp_path / "a", files_of()))
    assert (tmp_path / "named.sqlite").is_file()
    assert depot(tmp_path, "set-aside", "--ledger", "other.sqlite").err == (
        f"closeout: {tmp_path}/other.sqlite: no ledger there; `closeout depot add` makes one,"
        " --ledger names another\n"
    )


def test_progress_at_a_terminal_is_one_line_that_goes_away(tmp_path: Path) -> None:
    told = depot(tmp_path, "add", lay_many(tmp_path / "r", 2), terminal=True)
    assert "\rkept: 2 reports, 2 of them new" in told.err
    assert told.err.endswith("\r")
    told = depot(tmp_path, "export", "out", terminal=True)
    assert told.err == "\r2026-11 "


def test_the_life_of_a_unit_in_words_and_as_json(filled: Path) -> None:
    told = depot(filled, "unit", LABEL.lower())
    assert told.code == 0
    lines = told.out.splitlines()
    assert lines[:3] == [
        "nl7qk42d is the serial in the firmware of label NL7QK42D",
        "nl7qk42d is the serial on the label of label NL7QK42D",
        "label NL7QK42D",
    ]
    assert "  2026-11-20  order DEMO-3101, attempt 1: release" in lines
    told = depot(filled, "unit", LABEL, "--json")
    answer = json.loads(told.out)
    assert [one["unit"] for one in answer["units"]] == ["label NL7QK42D"]
    assert answer["units"][0]["reports"][0]["verdict"] == "release"


def test_two_units_with_one_serial_are_both_told(tmp_path: Path) -> None:
    for number in (1, 2):
        tree = tree_of(number)
        tree["inventory"]["drive"] = tree_of(7)["inventory"]["drive"]
        lay_down(tmp_path / "r" / str(number), {"report.json": raw_of(tree)})
    depot(tmp_path, "add", "r")
    told = depot(tmp_path, "unit", "DR93H000007")
    assert "2 units have it; here is each:" in told.out.splitlines()
    told = depot(tmp_path, "forget", "DR93H000007", "--reason", "asked")
    assert told.code == 2
    assert "several units have it: board MB84F000001/" in told.err


def test_hostile_text_stays_text_on_the_terminal(tmp_path: Path) -> None:
    tree = tree_of()
    tree["circumstances"]["order"] = "T\x1b[2J[/red]\u202e"
    tree["findings"][0]["found"] = "\x07BCDFG-HJKMP-QRTVW-XY234-6789N"
    depot(tmp_path, "add", lay_down(tmp_path / "a", {"report.json": raw_of(tree)}))
    told = depot(tmp_path, "unit", "MB84F000001")
    assert told.code == 0
    assert not {"\x1b", "\x07", "\u202e"} & set(told.out)
    assert "T\\x1b[2J[/red]\\u202e" in told.out
    assert "*****-6789N" in told.out
    assert "HJKMP" not in depot(tmp_path, "unit", "MB84F000001", "--json").out


def test_copies_and_exports(filled: Path) -> None:
    told = depot(filled, "backup", "b.sqlite")
    assert told.out == f"Backup: {filled}/b.sqlite: 4 reports, 4 files.\n"
    assert "nothing is overwritten" in depot(filled, "backup", "b.sqlite").err
    told = depot(filled, "restore", "b.sqlite", "--ledger", "c.sqlite")
    assert told.out == (
        f"Restored: {filled}/c.sqlite: 4 reports, 4 files, every byte as it was kept.\n"
    )
    assert depot(filled, "restore", "b.sqlite").code == 2
    told = depot(filled, "export", "out", "--csv")
    assert told.out.splitlines() == [
        f"Export: {filled}/out: 4 in report, 61 in finding, 8 in step, 1 in part, 28 in identity.",
        "Serials and addresses are in it as they are; --tokens FILE hides them.",
    ]
    (filled / "secret").write_bytes(b"of the depot, long enough")
    told = depot(filled, "export", "out", "--tokens", filled / "secret")
    assert len(told.out.splitlines()) == 1
    assert not any(LABEL.encode() in path.read_bytes() for path in (filled / "out").rglob("*.*"))
    assert "no export: nothing is overwritten" in depot(filled, "export", ".").err


def test_a_terminal_shows_how_far_the_search_is(
    filled: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("closeout.depot.proof.KEPT_AT_ONCE", 1)
    told = depot(filled, "forget", OTHER, "--reason", "asked", terminal=True)
    assert told.code == 0
    assert "\rsearched: 3 of 3 kept files " in told.err
    assert told.err.endswith("\r")


def test_a_unit_is_forgotten_and_that_is_proven(filled: Path) -> None:
    told = depot(filled, "forget", OTHER, "--reason", "asked by the customer")
    assert told.code == 0
    first, searched, found, last = told.out.splitlines()
    assert first == f"Forgotten: label {OTHER}: 1 reports, 1 files: asked by the customer."
    assert searched.startswith("Searched for ")
    assert f"{filled}/{ledger_option.FILE} (" in searched
    assert found == "Found: nothing."
    assert last.startswith("Not reached: backups, exports, sticks")
    for path in filled.glob(f"{ledger_option.FILE}*"):
        assert OTHER.encode() not in path.read_bytes()
    told = depot(filled, "add", *sorted(EXAMPLES.glob("*.json")), "--quiet")
    assert told.out == "0 added, 3 known already, 1 forgotten here once, and not taken again.\n"
    assert told.code == 0
    assert depot(filled, "forget", "--sweep").out == (
        f"Written anew: {filled}/{ledger_option.FILE}.\n"
    )


def test_what_is_left_of_a_unit_is_said(filled: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(proof, "_found_in", lambda *_: iter(["NL7QK42D"]))
    told = depot(filled, "forget", LABEL, "--reason", "asked")
    assert told.code == 2
    assert f"FOUND: NL7QK42D in {filled}/{ledger_option.FILE}." in told.out.splitlines()


def test_a_value_that_another_unit_has_is_said(tmp_path: Path) -> None:
    for number in (1, 2):
        tree = tree_of(number)
        tree["inventory"]["drive"] = tree_of(7)["inventory"]["drive"]
        lay_down(tmp_path / "r" / str(number), {"report.json": raw_of(tree)})
    depot(tmp_path, "add", "r")
    told = depot(tmp_path, "forget", "MB84F000001", "--reason", "asked")
    assert told.code == 0
    assert (
        "Not sought: DR93H000007, which another unit in the ledger has too."
        in told.out.splitlines()
    )


def test_old_reports_lose_what_is_personal(filled: Path) -> None:
    told = depot(filled, "forget", "--older-than", "1")
    assert told.out.startswith("Of 0 reports, 0 files")
    for name, day in (("old.json", b"2026-01-02"), ("unset.json", b"2015-01-01")):
        (filled / name).write_bytes(raw_of(tree_of()).replace(b"2026-11-20", day))
        depot(filled, "add", name)
    told = depot(filled, "forget", "--older-than", "200")
    assert told.out.startswith("Of 1 reports, 1 files and all that names a unit are gone;")
    assert "Not touched: 1 reports that are dated before 2026 or in the future" in told.out
    assert depot(filled, "forget", "MB84F000001", "--reason", "asked").code == 0
    assert depot(filled, "unit", "MB84F000001").code == 2


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        ((), "name a unit by a serial"),
        (("X", "--sweep"), "one of them"),
        (("X", "--older-than", "3"), "one of them"),
        ((LABEL,), "--reason is needed"),
        ((LABEL, "--reason", f"unit {LABEL.lower()}"), "--reason holds what is to be forgotten"),
        (("gone", "--reason", "x"), "gone: no unit in the ledger has it"),
        (("--older-than", "0"), "days from 1 to 36500 are allowed"),
    ],
)  # fmt: skip
def test_what_cannot_be_forgotten(filled: Path, arguments: tuple[str, ...], told: str) -> None:
    answer = depot(filled, "forget", *arguments)
    assert answer.code == 2
    assert told in answer.err


def test_many_recordings_are_judged_by_the_other_door(tmp_path: Path) -> None:
    captured = shipped_folder("profiles") / "demo" / "osier-15-worn-pack"
    one = call_in(tmp_path, "check", "--out", "a", "--evidence", captured)
    two = depot(tmp_path, "check", captured, "--out", "b")
    three = depot(tmp_path, "check", "--out", "c", captured, "--evidence", captured / "gone")
    assert (one.code, one.out) == (two.code, two.out)
    assert three.code == 2
    four = depot(tmp_path, "check", captured, "--root", tmp_path)
    assert (four.code, four.out) == (2, "")
    assert four.err.startswith("closeout: --root: of one unit")
    files = [sorted(p.relative_to(tmp_path / x) for p in (tmp_path / x).rglob("*")) for x in "ab"]
    assert files[0] == files[1] != []


@pytest.mark.parametrize(
    ("missing", "arguments"),
    [
        ("sqlalchemy", ("add", "x")),
        ("alembic", ("set-aside",)),
        ("pyarrow", ("export", "out")),
    ],
)
def test_without_its_libraries_it_says_what_to_install(
    tmp_path: Path, missing: str, arguments: tuple[str, ...]
) -> None:
    depot(tmp_path, "add", lay_down(tmp_path / "a", files_of()))
    words = ["closeout", "depot", *arguments]
    code = f"import sys; sys.modules[{missing!r}] = None; sys.argv = {words!r};"
    code += "from closeout.cli.main import run; run()"
    told = subprocess.run(
        [sys.executable, "-c", code], check=False, capture_output=True, text=True, cwd=tmp_path
    )
    assert (told.returncode, told.stdout) == (2, "")
    assert told.stderr == (
        f"closeout: a ledger needs the library {missing}: install closeout[depot]\n"
    )


def test_another_missing_module_is_our_own_error(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise ImportError("odd", name="other")

    monkeypatch.setattr(depot_add, "load_stations", broken)
    assert depot(tmp_path, "add", "x", "--stations", "s").code == 4


def test_help_loads_no_library_of_the_depot() -> None:
    code = (
        "import sys; from closeout.cli.main import make_parser; make_parser();"
        "print(sorted({'sqlalchemy', 'alembic', 'pyarrow'} & set(sys.modules)))"
    )
    told = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    assert told.stdout == "[]\n"
    assert make_parser().parse_args(["depot", "set-aside"]).command == "depot"
