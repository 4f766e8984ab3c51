"""The life of a unit, and what is left of it once it was forgotten: nothing that names it."""

import json
import os
import sqlite3
from pathlib import Path

import pytest
from sqlalchemy import func, select
from sqlalchemy.exc import OperationalError

from closeout.depot import proof
from closeout.depot.failure import LedgerError
from closeout.depot.forget import PAST, Removed, forget_before, forget_unit
from closeout.depot.ledger import Ledger
from closeout.depot.life import find_by_order, find_units, tell_life
from closeout.depot.life_words import lines_of
from closeout.depot.proof import search, spellings_of, sweep
from closeout.depot.tables import (
    belonging,
    content,
    finding,
    forgotten,
    identity,
    part,
    report,
    set_aside,
    tables,
)
from strategies.depot_reports import (
    NOW,
    add,
    add_to,
    circumstances,
    lay_down,
    lay_many,
    raw_of,
    tree_of,
    uuid_of,
)  # fmt: skip
from strategies.depot_reports import (
    finding as failed,
)

DAY = 86_400
FACTS = {
    "not_present": [],
    "declined": [],
    "firmware_password": "",
    "encryption": "",
    "recovery_key": "",
}
PARTS = [
    {"kind": "drive", "is_fitted": True, "part_number": "P40", "serial": "fit77001"},
    {"kind": "drive", "is_fitted": False, "part_number": "", "serial": ""},
]


def told_of(number: int, **changes: object) -> dict[str, bytes]:
    """A report of the unit with the label LBL-NUMBER, and with parts."""
    own = circumstances(number, order_facts=FACTS | {"parts": PARTS}, **changes)
    own["handling"]["label"] = f"LBL-{number:04d}"
    said = {"reply": "no", "by": "T4", "reason": "loose", "at": None, "attempt": 1}
    tree = tree_of(number, circumstances=own)
    tree["findings"] = [
        failed(
            found=f"pack of lbl-{number:04d}", answer=said, concession={"by": "L2", "reason": "ok"}
        )
    ]
    tree["revisions"] = [{"change": "answered 1", "by": "T4"}]
    return {"report.json": raw_of(tree)}


@pytest.fixture
def ledger(address: str, tmp_path: Path) -> Ledger:
    """Three units of their own, and one with two attempts, parts and things said."""
    lay_many(tmp_path / "r", 3)
    lay_down(tmp_path / "r" / "a", told_of(9))
    moved = told_of(9, attempt=2, started={"text": "2026-11-21T10:00:00Z", "source": "clock"})
    tree = json.loads(moved["report.json"])
    tree["inventory"]["board"]["devices"][0]["attributes"]["serial"]["value"] = "MB99OTHER7"
    lay_down(tmp_path / "r" / "b", {"report.json": raw_of(tree)})
    unrun = {
        "unrun": 1,
        "agent": "c",
        "order": "T-8",
        "number": 1,
        "reason": "locked",
        "note": "dead",
        "by": "T5",
        "station": "",
        "at": {"text": "2026-11-20T10:00:00Z", "source": "x"},
    }
    lay_down(tmp_path / "r" / "c", {"unrun.json": raw_of(unrun)})
    told, made = add(address, tmp_path / "r")
    assert (told.added, told.spoiled) == (6, ())
    return made


@pytest.mark.parametrize(
    ("asked", "unit", "by"),
    [
        ("lbl-0009 ", "label LBL-0009", "serial on the label"),
        ("label LBL-0009", "label LBL-0009", "name of the unit in the ledger"),
        ("SN7K000009Q", "label LBL-0009", "serial in the firmware"),
        ("MB99OTHER7", "label LBL-0009", "serial of the system board"),
        (uuid_of(9), "label LBL-0009", "UUID in the firmware"),
        ("3c-1a-9f-00-09-07", "label LBL-0009", "address of a network part"),
        ("DR93H000009", "label LBL-0009", "serial of a drive"),
        ("P00009K", "label LBL-0009", "serial of a pack"),
        ("FIT77001", "label LBL-0009", "serial of a part of the order"),
        ("order T-8", "order T-8", "name of the unit in the ledger"),
    ],
)
def test_a_unit_is_found_by_what_it_has(ledger: Ledger, asked: str, unit: str, by: str) -> None:
    with ledger.reading() as connection:
        assert [(one.unit, one.by) for one in find_units(connection, asked)] == [(unit, by)]
        assert find_units(connection, "%") == find_units(connection, "gone") == ()
    ledger.close()


def test_a_unit_is_found_by_its_order(ledger: Ledger) -> None:
    with ledger.reading() as connection:
        wanted = select(report.c.unit, report.c.work_order).where(report.c.work_order != "")
        for unit, order in connection.execute(wanted).all():
            found = find_by_order(connection, f" {order} ")
            assert (unit, "number of an order") in [(one.unit, one.by) for one in found]
        assert find_by_order(connection, "no such order") == ()
    ledger.close()


@pytest.mark.parametrize("asked", ["", "  ", "\t"])
def test_no_unit_is_found_by_nothing(ledger: Ledger, asked: str) -> None:
    with ledger.reading() as connection:
        assert find_units(connection, asked) == find_by_order(connection, asked) == ()
    ledger.close()


def test_a_life_in_words(ledger: Ledger) -> None:
    with ledger.reading() as connection:
        lines = list(lines_of(tell_life(connection, "label LBL-0009")))
        locked = list(lines_of(tell_life(connection, "order T-8")))
    board = uuid_of(9).upper()
    assert lines[:12] == [
        "label LBL-0009",
        f"  board MB84F000009/{board}: 2026-11-20 to 2026-11-20",
        f"  board MB99OTHER7/{board}: 2026-11-20 to 2026-11-20",
        "  2026-11-20  order T-9, attempt 1, revision 2: hold",
        "    station B-07, by T1, model fen-14, repairs system-board, not sealed",
        "    fitted: drive, P40, FIT77001",
        "    removed: drive",
        (
            "    fail (must) battery, battery.health_percent: expected at least 60 %,"
            " found pack of lbl-0009"
        ),
        "      answered no: T4, loose",
        "      conceded: L2, ok",
        "    to do: Battery: Fit another pack.",
        "    said afterwards by T4: answered 1",
    ]
    assert locked == [
        "order T-8",
        "  2026-11-20  order T-8, not checked 1: locked, dead",
        "    station not told, by T5, not sealed",
    ]
    ledger.close()


def test_revisions_stand_in_their_order_and_the_last_tells_it_all(
    address: str, tmp_path: Path
) -> None:
    for revision in (10, 2, 9, 1):
        said = [{"change": f"answered {each}", "by": "T4"} for each in range(1, revision)]
        lay_down(
            tmp_path / "r" / f"{revision}", {"report.json": raw_of(tree_of(5, revisions=said))}
        )
    draft = tree_of(5, circumstances=circumstances(5, attempt=0, is_draft=True))
    lay_down(tmp_path / "r" / "draft", {"report.json": raw_of(draft)})
    _, made = add(address, tmp_path / "r")
    with made.reading() as connection:
        (unit,) = {match.unit for match in find_units(connection, "SN7K000005Q")}
        life = tell_life(connection, unit)
        lines = list(lines_of(life))
    heads = [line.partition("T-5, ")[2] for line in lines if "order T-5" in line]
    told = ["", ", revision 2", ", revision 9", ", revision 10"]
    assert heads == ["draft: hold", *(f"attempt 1{each}: hold" for each in told)]
    assert len([line for line in lines if "battery.health_percent" in line]) == 2
    made.close()


def test_a_life_of_damaged_bytes_is_told_without_them(ledger: Ledger) -> None:
    with ledger.writing() as connection:
        connection.execute(content.update().values(packed=b"noise"))
    with ledger.reading() as connection:
        life = tell_life(connection, "label LBL-0009")
        (first, _) = life["reports"]  # type: ignore[misc]
        assert (first["operator"], first["findings"][0]["answer_by"]) == ("", "")
    ledger.close()


def texts_of(ledger: Ledger) -> str:
    """All that stands in the tables, as one text."""
    with ledger.reading() as connection:
        rows = [connection.execute(select(table)).all() for table in tables.sorted_tables]
    return repr(rows).upper()


def test_a_forgotten_unit_is_gone_and_does_not_come_back(ledger: Ledger, tmp_path: Path) -> None:
    named = (
        "LBL-0009",
        "SN7K000009Q",
        "MB84F000009",
        "MB99OTHER7",
        "DR93H000009",
        "P00009K",
        "FIT77001",
    )
    assert all(value in texts_of(ledger) for value in named)
    removed = forget_unit(ledger, "label LBL-0009", "asked", NOW)
    assert (removed.reports, removed.files, removed.elsewhere) == (2, 2, frozenset())
    assert set(named) < removed.values
    assert removed.pieces
    sweep(ledger)
    searched = search(ledger, removed)
    assert searched.found == ()
    assert searched.spellings >= len(removed.values)
    assert not any(value in texts_of(ledger) for value in named)
    with ledger.reading() as connection:
        assert connection.execute(select(forgotten.c.reason)).scalars().all() == ["asked", "asked"]
        assert connection.execute(select(func.count()).select_from(report)).scalar() == 4
    again = add_to(ledger, tmp_path / "r")
    assert (again.added, again.known, again.forgotten, again.spoiled) == (0, 4, 2, ())
    assert not any(value in texts_of(ledger) for value in named)
    ledger.close()


def test_what_another_unit_has_too_is_said_and_not_sought(ledger: Ledger, tmp_path: Path) -> None:
    tree = tree_of(77)
    for kind in ("drive", "battery"):
        tree["inventory"][kind] = tree_of(9)["inventory"][kind]
    add_to(ledger, lay_down(tmp_path / "other", {"report.json": raw_of(tree)}))
    removed = forget_unit(ledger, "label LBL-0009", "asked", NOW)
    assert removed.elsewhere == {"DR93H000009", "VOLTARN/VT-1/P00009K", "P00009K"}
    sweep(ledger)
    assert search(ledger, removed).found == ()
    ledger.close()


def test_what_is_left_is_found(ledger: Ledger) -> None:
    """The search itself: a ledger that was not made anew, or of which too little was taken."""
    with ledger.reading() as connection:
        packed = connection.execute(select(content.c.packed)).scalars().first()
    removed = Removed(
        reports=1, files=1, values=frozenset({"LBL-0009"}), pieces=(bytes(packed or b"")[64:88],)
    )
    found = " ".join(search(ledger, removed).found)
    assert "LBL-0009 in " in found or "a value in report.label_serial" in found
    assert ("bytes of a file that was kept" in found) == ledger.is_file
    ledger.close()


def test_a_shared_file_stays_with_the_other(ledger: Ledger) -> None:
    with ledger.reading() as connection:
        before = connection.execute(select(func.count()).select_from(content)).scalar()
        (unit,) = connection.execute(
            select(report.c.unit).where(report.c.work_order == "T-1")
        ).one()
    removed = forget_unit(ledger, unit, "asked", NOW)
    assert removed.files == 1  # the evidence is that of the two others too
    with ledger.reading() as connection:
        assert (
            connection.execute(select(func.count()).select_from(content)).scalar()
            == (before or 0) - 1
        )
    assert all(len(piece) == 24 for piece in removed.pieces)
    ledger.close()


def test_old_reports_become_nobodys(ledger: Ledger, tmp_path: Path) -> None:
    before = texts_of(ledger)
    removed = forget_before(ledger, NOW, os.urandom(32), "old", NOW)
    assert (removed.reports, removed.files) == (6, 7)
    after = texts_of(ledger)
    for value in (
        "LBL-0009",
        "SN7K",
        "MB84F",
        "MB99OTHER7",
        "DR93H",
        "P00009K",
        "FIT77001",
        "T-9'",
    ):
        assert value in before
        assert value not in after
    with ledger.reading() as connection:
        rows = connection.execute(select(report)).all()
        for table in (identity, belonging, content):
            assert connection.execute(select(func.count()).select_from(table)).scalar() == 0
        serials = connection.execute(select(part.c.serial)).scalars()
        assert set(serials) == {""}
        assert connection.execute(select(func.count()).select_from(finding)).scalar() == 5
        assert "at least 60 %" in set(connection.execute(select(finding.c.expected)).scalars())
    assert len({row.unit for row in rows}) == 5  # both attempts of one unit stay together
    assert all(row.unit.startswith(f"{PAST} t-") and row.label_serial == "" for row in rows)
    assert {row.verdict for row in rows} == {"hold", ""}
    assert forget_before(ledger, NOW, os.urandom(32), "old", NOW).reports == 0
    again = add_to(ledger, tmp_path / "r")
    assert (again.added, again.known, again.forgotten) == (0, 0, 6)
    sweep(ledger)
    ledger.close()


def test_what_is_young_stays(ledger: Ledger) -> None:
    assert forget_before(ledger, NOW - 300 * DAY, b"k", "old", NOW).reports == 0
    assert "LBL-0009" in texts_of(ledger)
    ledger.close()


def test_a_reader_in_the_way_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    ledger = add(str(tmp_path / "l.sqlite"))[1]
    monkeypatch.setattr(proof, "run_alone", lambda *_: [(1, 5, 0)])
    with pytest.raises(LedgerError, match="depot forget --sweep"):
        sweep(ledger)
    ledger.close()


def test_a_forgotten_report_is_refused_whatever_lies_beside_it(
    ledger: Ledger, tmp_path: Path
) -> None:
    forget_unit(ledger, "label LBL-0009", "asked", NOW)
    forged = lay_down(tmp_path / "forged", told_of(9) | {"report.jws": b"no seal"})
    told = add_to(ledger, forged)
    assert (told.forgotten, told.added, told.spoiled) == (1, 0, ())
    with ledger.reading() as connection:
        assert connection.execute(select(set_aside)).all() == []
    ledger.close()


def test_a_ledger_that_cannot_be_written_anew_is_said_with_what_to_do(
    ledger: Ledger, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> object:
        raise OperationalError("VACUUM", None, sqlite3.OperationalError("disk is full"))

    monkeypatch.setattr(proof, "run_alone", full)
    with pytest.raises(LedgerError, match=r"anew \(disk is full\).*then run .*forget --sweep"):
        sweep(ledger)
    ledger.close()


def test_every_spelling() -> None:
    mac = set(spellings_of("3C:1A:9F:00:09:07"))
    assert {b"3C:1A:9F:00:09:07", b"3c1a9f000907", bytes.fromhex("3c1a9f000907")} < mac
    assert "3c:1a:9f:00:09:07".encode("utf-16-le") in mac
    assert bytes.fromhex(uuid_of(9).replace("-", "")) in set(spellings_of(uuid_of(9)))
    assert all(len(one) >= 5 for one in spellings_of("AB-CD-GH"))
    assert all(len(one) >= 5 for one in spellings_of("AB-CD"))
