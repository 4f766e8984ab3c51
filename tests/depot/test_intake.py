"""Reports taken into a ledger: once, whole, with what lies beside them, on both databases."""

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import select

from closeout.depot import intake
from closeout.depot.bundle import Spoiled, make_bundle
from closeout.depot.examine import Terms, unpack
from closeout.depot.failure import LedgerError
from closeout.depot.tables import belonging, content, finding, identity, report
from closeout.model.frozen import replace
from closeout.model.station import Revocation
from closeout.report.seal import Signer, make_seal
from closeout.report.unrun_json import render_unrun_json
from strategies.depot_reports import (
    EVIDENCE,
    UNRUN,
    Tree,
    add,
    add_to,
    files_of,
    lay_down,
    lay_many,
    raw_of,
    report_file,
    rows_of,
    tree_of,
)
from strategies.surroundings import call_in
from strategies.written_attempt import write_demo

pytestmark = pytest.mark.usefixtures("_one_processor")


def killed(*_: object, **__: object) -> None:
    """As whoever has too little memory."""
    os._exit(9)


def test_a_report_is_kept_once_with_every_byte(tmp_path: Path, address: str) -> None:
    folder = lay_down(tmp_path / "T-1" / "attempt", files_of())
    told, ledger = add(address, folder)
    assert (told.added, told.unproven, told.spoiled) == (1, 1, ())
    with ledger.reading() as connection:
        kept = select(belonging.c.name, content).join(content)
        files = {row.name: unpack(row.packed, row.digest) for row in connection.execute(kept).all()}
        row = connection.execute(select(report)).one()
        assert connection.execute(select(finding.c.number, finding.c.found)).all() == [(1, "51 %")]
        assert len(connection.execute(select(identity)).all()) == 6
    assert files == dict(files_of())
    assert (row.kind, row.verdict, row.station, row.seal) == ("judged", "hold", "B-07", "none")
    assert (row.day, row.week, row.month) == ("2026-11-20", "2026-W47", "2026-11")
    before = rows_of(ledger)
    again = add_to(ledger, folder, folder / "report.json", tmp_path)
    assert (again.added, again.known, again.spoiled) == (0, 3, ())
    assert rows_of(ledger) == before
    ledger.close()


@pytest.mark.usefixtures("_two_processors")
def test_many_go_in_by_chunks(
    tmp_path: Path, address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(intake, "MOST_AT_ONCE", 5)
    told, ledger = add(address, lay_many(tmp_path / "r", 23))
    assert told.added == 23
    with ledger.reading() as connection:
        numbers = connection.execute(select(report.c.id, report.c.work_order)).all()
    assert [number for number, _ in numbers] == list(range(1, 24))
    assert len({order for _, order in numbers}) == 23
    ledger.close()


def test_a_chunk_ends_where_its_bytes_are_many(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(intake, "MOST_BYTES_AT_ONCE", 10)
    few, many = (make_bundle("", "report.json", raw, {}) for raw in (b"{}", b"{" * 11))
    unread = Spoiled(place="", reason="")
    arrivals = [unread, few, unread, many, unread, few, few]
    assert [len(chunk) for chunk in intake.chunks_of(arrivals)] == [4, 2, 1]
    assert list(intake.chunks_of([])) == []


def test_what_came_later_completes_a_report(tmp_path: Path, address: str, signer: Signer) -> None:
    raw = raw_of(tree_of())
    told, ledger = add(address, lay_down(tmp_path / "a", {"report.json": raw}))
    assert told.added == 1
    whole = lay_down(
        tmp_path / "b",
        {"report.json": raw, "evidence.jsonl.gz": EVIDENCE, "report.jws": make_seal(raw, signer)},
    )
    told = add_to(ledger, whole)
    assert (told.added, told.completed) == (0, 1)
    assert {name for _, name, _ in rows_of(ledger)["belonging"]} == {
        *("report.json", "report.jws", "evidence.jsonl.gz"),
    }
    with ledger.reading() as connection:
        assert connection.execute(select(report.c.seal)).scalar() == "unknown"
    terms = Terms(stations=(signer.station,))
    assert add_to(ledger, whole, terms=terms).completed == 1
    with ledger.reading() as connection:
        row = connection.execute(select(report.c.seal, report.c.station)).one()
    assert tuple(row) == ("intact", "B-09")
    assert add_to(ledger, whole, terms=terms).known == 1
    assert add_to(ledger, tmp_path / "a", terms=terms).known == 1
    ledger.close()


def later_revision() -> Tree:
    """A report that something was said of five days after the check."""
    tree = tree_of()
    said_at = {"text": "2026-11-25T08:00:00Z", "source": "clock"}
    tree["revisions"] = [{"change": "conceded 1", "by": "L1", "at": said_at}]
    return tree


def spoilt(  # noqa: PLR0915 - a line for each way
    signer: Signer,
) -> Iterator[tuple[dict[str, bytes], Terms, str]]:
    """Files that are set aside, with the reason."""
    raw = raw_of(tree_of())
    station = signer.station
    sealed = {"report.json": raw, "report.jws": make_seal(raw, signer)}
    known = Terms(stations=(station,))
    early = replace(station, last_day="2026-11-01")
    ended = replace(station, last_day="2026-11-24")
    revoked = replace(station, revoked=Revocation(on="2026-11-01", reason="lost"))
    since = replace(station, revoked=Revocation(on="2026-12-01", reason="lost"))
    strict = Terms(requires_seal=True)
    profile = tree_of()
    profile["circumstances"]["profile_signature"] = {"state": "unsigned"}
    unrun = render_unrun_json(UNRUN)
    sealed_unrun = make_seal(unrun, signer)
    yield {"report.json": raw + b" ", "report.jws": sealed["report.jws"]}, known, "changed"
    yield {"report.json": raw, "report.jws": b"{}"}, known, "is no seal"
    yield {"report.json": raw, "report.jws": b" " * 5000}, known, "is no seal"
    yield sealed, Terms(stations=(early,)), "B-09, whose key was not valid any more on 2026-11-20"
    yield sealed, Terms(stations=(revoked,)), "B-09, whose key was revoked by 2026-11-20"
    yield sealed, Terms(stations=(since,)), "whoever has it can write any day"
    yield sealed, strict, "a key of none of the stations"
    yield {"report.json": raw}, strict, "it is not sealed"
    yield {"report.json": raw, "evidence.jsonl.gz": b"no"}, known, "is not the evidence"
    yield {"report.json": raw, "evidence.jsonl.gz": EVIDENCE[:-3]}, known, "is not the evidence"
    yield {"report.json": raw, "evidence.jsonl.gz": EVIDENCE * 2}, known, "is not the evidence"
    yield {"report.json": raw_of(profile)}, Terms(lead="L-01"), "a profile that L-01 did not sign"
    yield {"unrun.json": unrun + b" ", "unrun.jws": sealed_unrun}, known, "changed"
    yield {"unrun.json": unrun, "unrun.jws": b"{}"}, known, "unrun.jws beside it is no seal"
    yield {"unrun.json": unrun}, strict, "it is not sealed"
    yield {"report.json": b"{"}, known, "no report: not JSON at line 1, column 2"
    yield {"report.json": b'{"report": 2}'}, known, "no report: report: format 2 is not known"
    yield {"unrun.json": b'{"unrun": 1}'}, known, "no report: at: is missing"
    conceded = raw_of(later_revision())
    late_seal = {"report.json": conceded, "report.jws": make_seal(conceded, signer)}
    yield late_seal, Terms(stations=(ended,)), "whose key was not valid any more on 2026-11-25"


def test_what_is_not_sound_is_set_aside_and_the_others_go_on(
    tmp_path: Path, address: str, signer: Signer
) -> None:
    ledger = add(address)[1]
    for number, (files, terms, reason) in enumerate(spoilt(signer)):
        lay_down(tmp_path / str(number), files)
        told = add_to(ledger, tmp_path / str(number), terms=terms)
        assert told.added == 0
        (one,) = told.spoiled
        assert reason in one.reason
        assert one.digest
    held = rows_of(ledger)
    assert held["report"] == held["content"] == []
    assert len(held["set_aside"]) == 9  # by digests: the same report was spoilt in many ways
    told = add_to(ledger, lay_many(tmp_path / "good", 3, first=7), tmp_path / "16")
    assert (told.added, len(told.spoiled)) == (3, 1)
    ledger.close()


def test_a_redacted_copy_has_no_identities_and_no_evidence(tmp_path: Path, address: str) -> None:
    told, ledger = add(address, lay_down(tmp_path / "a", dict(files_of(redacted=True))))
    assert told.added == 1
    rows = rows_of(ledger)
    assert rows["identity"] == []
    assert [name for _, name, _ in rows["belonging"]] == ["report.json"]
    with ledger.reading() as connection:
        row = connection.execute(select(report)).one()
    assert (row.unit, row.board, row.label_serial) == ("order T-1", "", "")
    ledger.close()


def test_a_folder_and_the_file_of_a_stick_hold_the_same(tmp_path: Path, address: str) -> None:
    lay_many(tmp_path / "folder", 2)
    (tmp_path / "stick" / "reports").mkdir(parents=True)
    (tmp_path / "stick" / "agent").mkdir()
    (tmp_path / "stick" / "agent" / "other.zip").write_bytes(b"PK")
    for number in (1, 2, 3):
        (tmp_path / "stick" / "reports" / f"{number}.zip").write_bytes(report_file(number))
    told, ledger = add(address, tmp_path / "stick", tmp_path / "folder")
    assert (told.added, told.known, told.spoiled) == (3, 2, ())
    ledger.close()


def test_a_reason_is_safe_to_show_and_kept_once(tmp_path: Path, address: str) -> None:
    folder = lay_down(tmp_path / "a\x1b[2J", {"report.json": b"\xff"})
    told, ledger = add(address, folder)
    assert told.spoiled[0].reason == "no report: not UTF-8 at byte 0"
    add_to(ledger, folder)
    ((_, name, reason, at),) = rows_of(ledger)["set_aside"]
    assert (str(name).endswith("\\x1b[2J"), reason, at) == (
        True,
        "no report: not UTF-8 at byte 0",
        1_795_170_000,
    )
    ledger.close()


@pytest.mark.usefixtures("_two_processors")
def test_a_process_that_is_killed_is_one_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(intake, "examine", killed)
    with pytest.raises(LedgerError, match="ended from outside"):
        add(str(tmp_path / "l.sqlite"), lay_many(tmp_path / "r", 8))


def test_a_report_that_another_took_in_meanwhile_is_known(
    tmp_path: Path, address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = lay_many(tmp_path / "r", 3)
    ledger = add(address)[1]
    find = intake.find_known
    is_first = True

    def find_late(*arguments: object) -> object:
        nonlocal is_first
        found = find(*arguments)  # type: ignore[arg-type]
        if is_first:
            is_first = False
            add_to(ledger, folder)
        return found

    monkeypatch.setattr(intake, "find_known", find_late)
    told = add_to(ledger, folder)
    assert (told.added, told.known) == (0, 3)
    assert len(rows_of(ledger)["report"]) == 3
    ledger.close()


def test_nothing_is_counted_twice_in_one_chunk(tmp_path: Path, address: str) -> None:
    one, two = (lay_down(tmp_path / name, files_of()) for name in ("a", "b"))
    told, ledger = add(address, one, two, one)
    assert (told.added, told.known) == (1, 2)
    assert len(rows_of(ledger)["report"]) == 1
    ledger.close()


def test_a_document_brings_its_report_seal_and_evidence(
    tmp_path: Path, address: str, signer: Signer
) -> None:
    attempt = write_demo(tmp_path)
    raw = (attempt / "report.json").read_bytes()
    (attempt / "report.jws").write_bytes(make_seal(raw, signer))
    alone = tmp_path / "desk"
    alone.mkdir()
    made = call_in(tmp_path, "report", "pdf", attempt, "--out", alone / "DEMO.pdf")
    assert made.code == 0, made.err
    told, ledger = add(address, alone, terms=Terms(stations=(signer.station,)))
    assert (told.added, told.unproven, told.spoiled) == (1, 0, ())
    names = sorted(name for _, name, _ in rows_of(ledger)["belonging"])
    assert names == ["evidence.jsonl.gz", "report.json", "report.jws"]
    shutil.copy(alone / "DEMO.pdf", attempt)
    assert add_to(ledger, attempt, terms=Terms(stations=(signer.station,))).known == 1
    ledger.close()


@pytest.mark.parametrize("content", [b"", b"%PDF-1.7\n", b"GIF89a"])
def test_what_is_no_document_is_said(tmp_path: Path, address: str, content: bytes) -> None:
    (tmp_path / "a.pdf").write_bytes(content)
    told, ledger = add(address, tmp_path)
    assert (told.added, len(told.spoiled)) == (0, 1)
    ledger.close()
