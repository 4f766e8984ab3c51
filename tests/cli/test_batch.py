"""`closeout check --evidence DIR…`: many recordings at once, none of which costs the others."""

import json
import os
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from closeout.cli import batch_work
from closeout.cli.batch_work import Job, Setting
from closeout.cli.demo import ORDER_FILE, UNIT_FILE, demo_units
from strategies.surroundings import Told, call_in

UNITS = tuple(unit.folder for unit in demo_units())
SOON = 60
SUM = "4 recordings: 3 hold, 1 undecided"


@pytest.fixture(autouse=True)
def _in_the_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


@pytest.fixture
def captured(tmp_path: Path) -> Path:
    """Every demo unit, each in a folder of its own with its order."""
    folder = tmp_path / "captured"
    for unit in UNITS:
        (folder / unit.name).mkdir(parents=True)
        for name in (UNIT_FILE, ORDER_FILE):
            shutil.copyfile(unit / name, folder / unit.name / name)
    return folder


@pytest.fixture(params=[1, 3])
def processors(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> int:
    """How many there are; one works without a process of its own."""
    number: int = request.param
    monkeypatch.setattr(os, "sched_getaffinity", lambda _: set(range(number)))
    return number


def check(folder: Path, *arguments: object, out: str = "out") -> Told:
    return call_in(folder, "check", "--out", out, "--evidence", *arguments)


def reports(folder: Path) -> dict[str, bytes]:
    return {
        str(file.relative_to(folder)): file.read_bytes()
        for file in sorted(folder.rglob("*"))
        if file.is_file()
    }


@pytest.mark.usefixtures("processors")
def test_each_unit_gets_the_report_that_it_would_get_alone(captured: Path, tmp_path: Path) -> None:
    told = check(tmp_path, "captured")
    assert told.code == 1
    assert told.err == ""
    lines = told.out.splitlines()
    for unit, line in zip(sorted(UNITS), lines, strict=False):
        assert line.startswith(f"captured/{unit.name}/{UNIT_FILE}: ")
        order = ("--work-order", captured / unit.name / ORDER_FILE, "--quiet")
        alone = check(tmp_path, captured / unit.name / UNIT_FILE, *order, out="alone")
        assert alone.out.rstrip() == line.partition(": ")[2]
    assert lines[len(UNITS) :] == [SUM]
    assert reports(tmp_path / "out") == reports(tmp_path / "alone")


@pytest.mark.usefixtures("processors")
def test_attempts_follow_the_names_of_the_files(tmp_path: Path) -> None:
    """Without an order they are all of one folder; again they are the next ones."""
    for name in ("b", "a", "c"):
        (tmp_path / f"{name}.jsonl.gz").write_bytes((UNITS[0] / UNIT_FILE).read_bytes())
    (tmp_path / "a.jsonl.gz").write_bytes((UNITS[1] / UNIT_FILE).read_bytes())
    for first in (1, 4):
        told = check(tmp_path, ".")
        said = [line.split("; ")[1] for line in told.out.splitlines()[:3]]
        assert said == [f"order none attempt {number}" for number in range(first, first + 3)]
    folder = next((tmp_path / "out" / "no-order").glob("attempt-0001-*"))
    assert (folder / "evidence.jsonl.gz").read_bytes() == (UNITS[1] / UNIT_FILE).read_bytes()


@pytest.mark.usefixtures("processors")
def test_one_bad_file_never_stops_the_rest(captured: Path, tmp_path: Path) -> None:
    (captured / "aa.jsonl.gz").write_bytes(b"\x1f\x8bnoise")
    (captured / "zz.jsonl").touch()
    (captured / "readable.jsonl.gz").symlink_to("gone")
    (captured / "fen-14-healthy" / ORDER_FILE).write_text("order = [")
    told = check(tmp_path, "captured", "missing", "captured")
    assert told.code == 2
    bad = told.err.splitlines()
    assert bad[0].startswith("closeout: captured/aa.jsonl.gz: no gzip file, or a damaged one")
    assert bad[1].startswith("closeout: captured/readable.jsonl.gz: cannot be read: No such file")
    assert bad[2].startswith("closeout: captured/zz.jsonl: its end is missing")
    assert bad[3].startswith(f"closeout: captured/fen-14-healthy/{ORDER_FILE}:1:")
    assert bad[4].startswith("closeout: missing: cannot be read: No such file")
    assert len(bad) == 5
    assert told.out.splitlines()[3:] == ["8 recordings: 3 hold, 5 not judged"]


def test_what_is_hidden_or_leads_in_a_circle_is_passed_over(captured: Path, tmp_path: Path) -> None:
    (captured / "round").symlink_to(captured)
    (captured / ".half").mkdir()
    shutil.copyfile(UNITS[0] / UNIT_FILE, captured / ".half" / UNIT_FILE)
    shutil.copyfile(UNITS[0] / UNIT_FILE, captured / ".hidden.jsonl.gz")
    assert check(tmp_path, "captured").out.splitlines()[-1] == SUM


def test_what_cannot_be_listed_or_never_ends_is_said(
    captured: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    os.mkfifo(captured / "pipe.jsonl.gz")
    scandir, closed = os.scandir, str(captured / "fen-14-healthy")

    def look(place: str) -> object:
        if str(place) == closed:
            raise PermissionError(13, "Permission denied", place)
        return scandir(place)

    monkeypatch.setattr(os, "scandir", look)
    told = check(tmp_path, captured)
    assert told.code == 2
    assert told.err.splitlines() == [
        f"closeout: {captured}/pipe.jsonl.gz: no file but a pipe or device",
        f"closeout: {closed}: cannot be listed; check the rights",
    ]
    assert told.out.splitlines()[3:] == ["5 recordings: 3 hold, 2 not judged"]


def test_a_folder_without_a_recording_is_said(tmp_path: Path) -> None:
    (tmp_path / "nothing").mkdir()
    os.mkfifo(tmp_path / "pipe")
    told = check(tmp_path, "nothing", "pipe")
    assert told.code == 2
    assert told.out == ""
    assert told.err.splitlines() == [
        "closeout: nothing: no evidence in it, that is no file *.jsonl.gz",
        "closeout: pipe: no file but a pipe or device",
    ]


def test_a_link_that_leads_to_itself_and_a_name_too_long_are_said(tmp_path: Path) -> None:
    (tmp_path / "self.jsonl.gz").symlink_to("self.jsonl.gz")
    told = check(tmp_path, "self.jsonl.gz", "x" * 300)
    assert told.code == 2
    assert "Too many levels of symbolic links" in told.err.splitlines()[0]
    assert "File name too long" in told.err.splitlines()[1]


@pytest.mark.parametrize(
    "arguments",
    [
        ("--work-order", "o.toml"),
        ("--label", "X"),
        ("--again", "a"),
        ("--scan",),
        ("--reference-time", "2026-11-25T09:00:00Z"),
    ],
)
def test_what_is_said_of_one_unit_says_nothing_of_many(
    captured: Path, tmp_path: Path, arguments: tuple[str, ...]
) -> None:
    told = check(tmp_path, captured, *arguments)
    assert told.code == 2
    assert told.err.startswith(f"closeout: {arguments[0]}: of one unit")
    assert told.err.count("\n") == 1


def test_as_json_each_line_is_an_object(captured: Path, tmp_path: Path) -> None:
    (captured / "aa.jsonl.gz").touch()
    told = check(tmp_path, "captured", "--json")
    first, *units, last = [json.loads(line) for line in told.out.splitlines()]
    assert first == {
        "evidence": "captured/aa.jsonl.gz",
        "troubles": ["captured/aa.jsonl.gz: its end is missing; copy it again, or capture again"],
    }
    for unit in units:
        report = json.loads((Path(unit["report"]) / "report.json").read_text())
        assert report["verdict"] == unit["verdict"]
    counts = {"hold": 3, "undecided": 1, "release": 0, "not_judged": 1}
    assert last == {"recordings": 5, **counts}


def test_quiet_says_the_sum_and_what_went_wrong(captured: Path, tmp_path: Path) -> None:
    assert check(tmp_path, "captured", "--quiet").out.splitlines() == [SUM]
    (captured / "aa.jsonl.gz").touch()
    told = check(tmp_path, "captured", "--quiet")
    assert told.out.splitlines() == ["5 recordings: 3 hold, 1 undecided, 1 not judged"]
    assert told.err.count("\n") == 1


@pytest.mark.usefixtures("captured")
def test_redacted_and_drafts(tmp_path: Path) -> None:
    check(tmp_path, "captured", "--redact")
    check(tmp_path, "captured", "--draft", out="drafts")
    names = {Path(name).name for name in reports(tmp_path / "out")}
    assert names == {"report.json", "report.html"}
    serials = (b"NL7QK42D", b"NL7QK51M")
    assert not any(s in raw for s in serials for raw in reports(tmp_path / "out").values())
    folders = {Path(name).parent.name for name in reports(tmp_path / "drafts")}
    assert all(name.startswith("draft-0001-") for name in folders)


def test_reports_that_cannot_be_written_are_said(captured: Path, tmp_path: Path) -> None:
    (tmp_path / "out").touch()
    told = check(tmp_path, captured)
    assert told.code == 2
    assert told.err.count("a part of the path is a file; choose another folder") == len(UNITS)
    assert told.out.splitlines()[-1] == "4 recordings: 4 not judged"


def test_a_reader_that_kills_its_process_costs_its_own_unit(
    captured: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As the kernel does when memory runs out; the others are judged, each once."""
    for number in range(30):
        shutil.copytree(captured / "osier-15-worn-pack", captured / f"more-{number:02}")
    judge, here = batch_work.load_evidence, os.getpid()

    def load(file: Path, secret: bytes | None) -> object:
        if file.parent.name in {"fen-14-healthy", "more-07"} and os.getpid() != here:
            os.kill(os.getpid(), signal.SIGKILL)
        return judge(file, secret)

    monkeypatch.setattr(batch_work, "load_evidence", load)
    monkeypatch.setattr(os, "sched_getaffinity", lambda _: {0, 1})
    told = check(tmp_path, "captured")
    assert told.code == 4
    killed = told.err.splitlines()
    assert all(line.endswith(batch_work.KILLED) for line in killed)
    assert [line.split("/")[1] for line in killed] == ["fen-14-healthy", "more-07"]
    assert told.out.splitlines()[-1] == "34 recordings: 32 hold, 2 not judged"
    own = tmp_path / "out" / "DEMO-3104"
    assert len(list(own.glob("attempt-*"))) == 30  # and what was cut off is hidden


def test_a_report_that_was_written_before_its_process_was_killed_is_not_lost_nor_twice(
    captured: Path, tmp_path: Path
) -> None:
    """All in hand are judged once more then, also one of whose outcome nobody heard."""
    file = captured / "fen-14-healthy" / UNIT_FILE
    job = Job(file=file, order=file.with_name(ORDER_FILE), attempt=1)
    setting = Setting(root=tmp_path / "out")
    first = batch_work.judge_one(job, setting)
    before = reports(tmp_path / "out")
    assert batch_work._judge_alone(job, setting) == first
    assert reports(tmp_path / "out") == before
    assert batch_work.judge_one(job, setting).code == 2  # by itself nothing is taken for written


def test_an_error_of_our_own_is_said_of_its_unit(
    captured: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fall(*_: object) -> None:
        raise ZeroDivisionError("oh")

    monkeypatch.setattr(batch_work, "read_out", fall)
    told = check(tmp_path, captured)
    assert told.code == 4
    assert told.err.count("an error of closeout itself (ZeroDivisionError: oh)") == len(UNITS)


def test_the_operator_stops_it_without_a_trace(captured: Path, tmp_path: Path) -> None:
    """Ctrl-C reaches every process of the terminal's group; what was written is whole."""
    for number in range(200):
        shutil.copytree(captured / "osier-15-worn-pack", captured / f"more-{number:03}")
    command = ("-m", "closeout", "check", "--out", "out", "--evidence", "captured")
    with subprocess.Popen(
        ("env", "--default-signal=INT", sys.executable, *command),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=tmp_path,
        start_new_session=True,
    ) as run:
        assert run.stdout is not None
        assert run.stdout.readline()
        os.killpg(run.pid, signal.SIGINT)
        _, errors = run.communicate(timeout=SOON)
    assert run.returncode == 130
    assert errors == b"closeout: stopped by the operator before the end\n"
    for folder in (tmp_path / "out" / "DEMO-3104").glob("attempt-*"):
        assert (folder / "report.json").is_file()
