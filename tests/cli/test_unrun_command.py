"""`closeout unrun`: a record that is no report and no attempt."""

import json
import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from closeout.cli import sealing
from closeout.cli.station_records import load_station
from closeout.expect.shipped import shipped_folder
from closeout.model.moment import Moment
from closeout.model.unrun import Unrun, WhyUnrun
from closeout.report.failure import ReportError
from closeout.report.seal import State, check_seal
from closeout.report.unrun_json import load_unrun, render_unrun_json
from closeout.report.unrun_page import render_unrun_page
from strategies.laid_out import healthy
from strategies.surroundings import NOON, Told, call_in
from strategies.written_attempt import everything

SCHEMA = Draft202012Validator(
    json.loads((shipped_folder("reports") / "unrun-1.schema.json").read_text())
)
KEY = "BCDFG-HJKMP-QRTVW-XY234-6789N"
RECORDS = st.builds(
    Unrun,
    agent=st.text(),
    order=st.text(),
    number=st.integers(min_value=1, max_value=999),
    why=st.sampled_from(WhyUnrun),
    note=st.text(),
    by=st.text(),
    station=st.text(),
    at=st.builds(Moment, text=st.text(), source=st.text()),
)


def test_a_station_seals_the_record(tmp_path: Path) -> None:
    call_in(tmp_path, "station", "init", tmp_path / "station", "--code", "B-07")
    assert unrun(tmp_path, "--station-key", tmp_path / "station").code == 0
    folder = tmp_path / "closeout-reports" / "WO-7" / "unrun-0001"
    known = (load_station(tmp_path / "station/station.toml"),)
    raw, seal = (folder / "unrun.json").read_bytes(), (folder / "unrun.jws").read_bytes()
    assert check_seal(raw, seal, known).state is State.INTACT
    assert load_unrun(raw).station == "B-07"
    assert check_seal(raw + b"\n", seal, known).state is State.CHANGED


def test_a_key_that_cannot_be_used_is_said_before_anything_is_written(tmp_path: Path) -> None:
    told = unrun(tmp_path, "--station-key", tmp_path / "station")
    assert told.code == 2
    assert everything(tmp_path) == {}


def unrun(place: Path, *arguments: object, order: str = "WO-7", reason: str = "no-boot") -> Told:
    return call_in(place, "unrun", "--order", order, "--reason", reason, "--by", "T17", *arguments)


def folders(place: Path) -> list[str]:
    return sorted(path.name for path in (place / "closeout-reports" / "WO-7").iterdir())


@pytest.fixture(autouse=True)
def _no_station(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("CLOSEOUT_STATION", sealing.FOLDER, sealing.PASSPHRASE):
        monkeypatch.delenv(name, raising=False)


def test_the_record_says_what_was_said(tmp_path: Path) -> None:
    told = unrun(tmp_path, "--note", "no light, no fan", "--station", "B2", reason="locked")
    folder = tmp_path / "closeout-reports" / "WO-7" / "unrun-0001"
    assert (told.code, told.out, told.err) == (0, f"Record: {folder}\n", "")
    record = load_unrun((folder / "unrun.json").read_bytes())
    assert (record.order, record.number, record.why) == ("WO-7", 1, WhyUnrun.LOCKED)
    assert (record.by, record.station, record.note) == ("T17", "B2", "no light, no fan")
    assert record.at.text == NOON.strftime("%Y-%m-%dT%H:%M:%SZ")
    page = (folder / "unrun.html").read_text()
    for words in ("Not run: the unit is locked", "no light, no fan", "T17", "this sheet is no"):
        assert words in page
    assert "verdict is-" not in page


def test_records_count_by_themselves_and_are_never_overwritten(tmp_path: Path) -> None:
    healthy(tmp_path / "unit")
    check = ("check", "--root", tmp_path / "unit", "--order", "WO-7")
    assert unrun(tmp_path).code == 0
    before = everything(tmp_path / "closeout-reports")
    assert call_in(tmp_path, *check).code in {0, 1, 3}
    assert unrun(tmp_path, reason="not-checked").code == 0
    assert call_in(tmp_path, *check).code in {0, 1, 3}
    names = [name.split("-")[:2] for name in folders(tmp_path)]
    assert names == [["attempt", "0001"], ["attempt", "0002"], ["unrun", "0001"], ["unrun", "0002"]]
    after = everything(tmp_path / "closeout-reports")
    assert {path: after[path] for path in before} == before


def test_the_station_out_of_the_surroundings(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("CLOSEOUT_STATION", "B9")
    unrun(tmp_path, "--out", "elsewhere")
    file = tmp_path / "elsewhere" / "WO-7" / "unrun-0001" / "unrun.json"
    assert load_unrun(file.read_bytes()).station == "B9"


@pytest.mark.parametrize(
    ("arguments", "wrong"),
    [
        (("--order", "../x"), "--order: '../x' is no order"),
        (("--order", KEY), "--order: a text in the form of a licence key"),
        (("--by", "x" * 41), "--by: longer than 40 characters"),
        (("--by", " "), "--by: nothing is typed"),
        (("--note", f"it says {KEY}"), "--note: a text in the form of a licence key"),
        (("--note", "a\nb"), "--note: one line without control characters"),
        (("--station", KEY), "--station: a text in the form of a licence key"),
        (("--out", "file"), "the record was not written: cannot"),
    ],
)
def test_what_is_refused_is_one_line(
    tmp_path: Path, arguments: tuple[str, ...], wrong: str
) -> None:
    (tmp_path / "file").write_text("")
    told = unrun(tmp_path, *arguments)
    assert (told.code, told.out) == (2, "")
    (line,) = told.err.splitlines()
    assert wrong in line
    assert KEY not in line
    assert [path.name for path in tmp_path.iterdir()] == ["file"]


@given(RECORDS)
def test_what_is_written_is_read_again_and_meets_the_schema(record: Unrun) -> None:
    raw = render_unrun_json(record)
    loaded = load_unrun(raw)
    assert render_unrun_json(loaded) == raw
    assert SCHEMA.is_valid(json.loads(raw))


@given(RECORDS)
def test_no_text_gets_out_of_its_place_on_the_sheet(record: Unrun) -> None:
    tags = re.findall(r"<([a-z][a-z0-9]*)", render_unrun_page(record))
    assert set(tags) <= {
        *("html", "head", "meta", "title", "style", "body", "header", "main", "section"),
        *("h1", "h2", "p", "b", "dl", "dt", "dd"),
    }


@pytest.mark.parametrize(
    ("raw", "wrong"),
    [
        (b"{}", "unrun: is missing"),
        (b'{"unrun": 2}', "unrun: format 2; only format 1 is known"),
        (b"[]", "an object was expected"),
        (b"{", "not JSON"),
        (b'{"unrun": 1, "agent": 1}', "agent: a text was expected"),
    ],
)
def test_what_is_no_record_is_refused_with_its_place(raw: bytes, wrong: str) -> None:
    with pytest.raises(ReportError, match=wrong):
        load_unrun(raw)


def test_a_reason_that_is_not_known_is_refused() -> None:
    sound = Unrun(
        agent="a",
        order="o",
        number=1,
        why=WhyUnrun.LOCKED,
        note="",
        by="b",
        station="",
        at=Moment(text="t", source="s"),
    )
    tree = json.loads(render_unrun_json(sound)) | {"reason": "tired"}
    assert not SCHEMA.is_valid(tree)
    with pytest.raises(ReportError, match="one of no-boot, locked, not-checked"):
        load_unrun(json.dumps(tree).encode())
