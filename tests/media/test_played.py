"""From a scanned order to a report on the stick, played whole at the unit's own keyboard.

Secure Boot is on, the kernel is the distribution's, and every command that reaches the unit's drive
is traced. What its screen shows is kept as pictures beside the test's other files, to be looked at.
"""

import subprocess
from dataclasses import replace
from pathlib import Path
from zipfile import ZipFile

import pytest

from closeout.media.report_file import Kept, read_report_file
from media.played_unit import PlayedUnit, played, with_page_reserved
from media.real_stick import Stick, built_stick
from media.write_watch import digests, judge_trace
from notebook.description import load_notebook
from notebook.image import Image
from strategies.surroundings import call_in
from strategies.written_attempt import load

pytestmark = [pytest.mark.notebook, pytest.mark.thorough, pytest.mark.xdist_group("played")]

ORDER = "DEMO-3101"
ORDERS = Path(__file__).parent.parent / "notebook" / "work-orders"
MEMORY_MIB = 2048
PASS_PHRASE = "wool and salt"  # noqa: S105 - of a key made here
QUESTION, REASON, CODE, WHAT_NOW = "stop: ", "(Enter = none) ", "no questions): ", "What now? "
ANSWERS = {QUESTION: "yes", REASON: "", CODE: "T-17"}


def test_from_the_order_to_the_report(image: Image, tmp_path: Path) -> None:
    stick = built_stick()
    copy = with_page_reserved(stick.image, tmp_path / "stick.img", stick.boot_offset)
    shared = f"{copy}@@{_shared_offset(stick)}"
    order = (ORDERS / "fen-14.toml").read_text("utf-8")
    (tmp_path / "order.toml").write_text(order, "utf-8")
    _run("mcopy", "-i", shared, tmp_path / "order.toml", f"::/orders/{ORDER}.toml")
    _make_station(tmp_path, shared)
    notebook = replace(load_notebook("fen-14"), memory_mib=MEMORY_MIB)
    drives = [f"drive-{name}.raw" for name in notebook.drive]
    pictures, trace = tmp_path / "pictures", tmp_path / "trace"
    with played(notebook, image, copy, pictures, trace) as unit:
        before = digests(unit.places.folder / name for name in drives)
        _play(unit)
        assert digests(unit.places.folder / name for name in drives) == before
    assert {file.stem for file in pictures.iterdir()} == {"first", "ready", "question", "verdict"}
    _look_at_trace(trace)
    _run("mcopy", "-i", shared, "::/reports/*", tmp_path)
    (report,) = tmp_path.glob("*.zip")
    told = read_report_file(report.read_bytes(), report.stem)
    assert isinstance(told, Kept)
    assert (told.order, told.verdict) == (ORDER, "hold")
    _unpack(report, tmp_path / "taken")
    _verify(tmp_path)
    _verify_document(report.with_suffix(".pdf"), report, tmp_path)


def _look_at_trace(trace: Path) -> None:
    watched = judge_trace(trace.read_text("utf-8", "replace"))
    assert watched.refused == ()
    assert watched.counts["nvme"] > 0


def _unpack(report: Path, folder: Path) -> None:
    """By another reader of the same file."""
    with ZipFile(report) as packed:
        assert packed.testzip() is None
        assert any(name.endswith("/report.html") for name in packed.namelist())
        packed.extractall(folder)


def _make_station(folder: Path, shared: str) -> None:
    """The stick as a station whose key has a pass phrase, with a lead who signed the profiles."""
    (folder / "words").write_text(PASS_PHRASE)
    (folder / "known").mkdir()
    locked = ("--passphrase", folder / "words")
    for code, more in (("B-07", locked), ("L-01", ())):
        assert call_in(folder, "station", "init", folder / code, "--code", code, *more).code == 0
        record = (folder / code / "station.toml").read_bytes()
        (folder / "known" / f"{code}.toml").write_bytes(record)
    own = folder / "own"
    own.mkdir()
    signing = ("profile", "sign", own, "--version", "2026.9", "--station-key", folder / "L-01")
    assert call_in(folder, *signing).code == 0
    for file, place in (
        (folder / "B-07/station.key", "station/station.key"),
        (folder / "B-07/station.toml", "station/station.toml"),
        (folder / "L-01/station.toml", "lead/lead.toml"),
        (own / "set.jws", "lead/2026.9.jws"),
    ):
        _run("mcopy", "-i", shared, file, f"::/{place}")


def _verify(folder: Path) -> None:
    """What came off the stick, at the desk: sealed by it, and judged by what the lead signed."""
    (attempt,) = {file.parent for file in (folder / "taken").rglob("report.json")}
    told = call_in(folder, "report", "verify", attempt, "--stations", folder / "known")
    assert "Intact: not a byte has changed since station B-07 sealed it." in told.out
    assert "Evidence: what lies beside it is what it names." in told.out
    signature = load(attempt).circumstances.profile_signature
    assert (signature.state.value, signature.version) == ("signed", "2026.9")


def _verify_document(document: Path, report: Path, folder: Path) -> None:
    """The one that was made on the unit is, to the byte, the one that is made at a desk."""
    at_desk = folder / "at-desk.pdf"
    assert call_in(folder, "report", "pdf", report, "--out", at_desk).code == 0
    assert document.read_bytes() == at_desk.read_bytes()
    told = call_in(folder, "report", "verify", document, "--stations", folder / "known")
    assert "Intact: not a byte has changed since station B-07 sealed it." in told.out


def _play(unit: PlayedUnit) -> None:
    unit.wait_for("The unit's own disk will not be opened for writing.", "first words")
    unit.picture("first")
    unit.wait_for("ready: the stick may be pulled", "ready")
    unit.picture("ready")
    unit.answer("Pass phrase, which is not shown: ", PASS_PHRASE)
    for prompt, scanned in (
        ("Scan the order: ", ORDER),
        ("Scan the unit's label: ", "NL7QK42D"),
        ("Scan your code: ", "T-17"),
    ):
        unit.answer(prompt, scanned)
    unit.seen["scanned"] = unit.seconds
    prompt = unit.wait_for_one(*ANSWERS, WHAT_NOW)
    unit.picture("question")
    while prompt != WHAT_NOW:
        unit.press(ANSWERS[prompt])
        prompt = unit.wait_for_one(*ANSWERS, WHAT_NOW)
    unit.seen["kept"] = unit.seconds
    unit.picture("verdict")
    assert PASS_PHRASE not in unit.console.seen
    assert "Kept on the stick" in unit.console.seen
    assert f"Document for the ticket: reports/{ORDER}-attempt-0001-" in unit.console.seen
    unit.press("off")
    unit.console.wait_for_end()


def _shared_offset(stick: Stick) -> int:
    return int(stick.manifest["partitions"][0]["first"]) * 512


def _run(*command: str | Path) -> None:
    subprocess.run(command, check=True)
