"""What is left of a forgotten unit where nobody thinks of it, and reports that have no age."""

import gzip
from hashlib import sha256
from pathlib import Path

import pytest
from sqlalchemy import select, update

from closeout.depot.engine import run_alone
from closeout.depot.forget import count_undated, forget_before, forget_unit
from closeout.depot.identities import normalise
from closeout.depot.ledger import Ledger
from closeout.depot.life import find_units, tell_life
from closeout.depot.proof import search, sweep
from closeout.depot.tables import content, report, set_aside
from closeout.model.frozen import replace
from closeout.model.moment import Moment
from closeout.report.unrun_json import render_unrun_json
from strategies.depot_reports import (
    NOW,
    UNRUN,
    add,
    add_to,
    circumstances,
    device,
    lay_down,
    lay_many,
    raw_of,
    section,
    tree_of,
    uuid_of,
)

PART = {"kind": "drive", "is_fitted": True, "part_number": "P40", "serial": "LBL-0009"}


@pytest.fixture
def ledger(address: str, tmp_path: Path) -> Ledger:
    """Three units, and one with a label and a part."""
    lay_many(tmp_path / "r", 3)
    own = circumstances(9, order_facts={"parts": [PART]})
    own["handling"]["label"] = "LBL-0009"
    lay_down(tmp_path / "r" / "a", {"report.json": raw_of(tree_of(9, circumstances=own))})
    return add(address, tmp_path / "r")[1]


def test_what_other_units_say_of_it_is_found_in_what_is_kept(
    ledger: Ledger, tmp_path: Path
) -> None:
    tree = tree_of(5, words={"note": "swapped with lbl-0009"})
    lay_down(tmp_path / "said", {"report.json": raw_of(tree)})
    lines = gzip.compress(b"LBL-0009\n")
    tree = tree_of(
        6, circumstances=circumstances(6, evidence_digest=sha256(b"LBL-0009\n").hexdigest())
    )
    lay_down(tmp_path / "read", {"report.json": raw_of(tree), "evidence.jsonl.gz": lines})
    add_to(ledger, tmp_path / "said", tmp_path / "read")
    removed = forget_unit(ledger, "label LBL-0009", "asked for", NOW)
    sweep(ledger)
    wanted = {
        f"LBL-0009 in {name} of board MB84F{number:06d}/{uuid_of(number).upper()}, which names"
        " it: only forgetting that unit ends it"
        for number, name in ((5, "report.json"), (6, "evidence.jsonl.gz"))
    }
    assert set(search(ledger, removed).found) == wanted
    ledger.close()


def test_a_unit_that_did_not_start_is_in_the_life_of_its_order(
    ledger: Ledger, tmp_path: Path
) -> None:
    for order in ("T-9", "T-1", "T-77"):
        at = Moment(text="2026-11-19T10:00:00Z", source="network")
        record = replace(UNRUN, order=order, note="of Mrs Example", at=at)
        lay_down(tmp_path / order, {"unrun.json": render_unrun_json(record)})
    own = circumstances(1)
    own["handling"]["label"] = "LBL-OTHER"
    lay_down(tmp_path / "x", {"report.json": raw_of(tree_of(8, circumstances=own))})
    add_to(ledger, *(tmp_path / name for name in ("T-9", "T-1", "T-77", "x")))
    with ledger.reading() as connection:
        (first, _) = tell_life(connection, "label LBL-0009")["reports"]
        assert (first["kind"], first["note"]) == ("unrun", "of Mrs Example")
        (alone,) = tell_life(connection, "label LBL-OTHER")["reports"]  # two units of one order
        assert alone["kind"] == "judged"
    assert forget_unit(ledger, "label LBL-0009", "asked for", NOW).reports == 2
    with ledger.reading() as connection:
        wanted = select(report.c.work_order).where(report.c.kind == "unrun")
        assert set(connection.execute(wanted).scalars()) == {"T-1", "T-77"}
    ledger.close()


@pytest.mark.parametrize("label", ["SN-\u00c5", "SN-A\u030a", "sn-\u212b"])
def test_a_serial_is_the_same_however_its_letters_are_composed(label: str) -> None:
    assert normalise(label) == "SN-\u00c5"


def test_kept_bytes_that_are_damaged_are_searched_as_they_are(ledger: Ledger) -> None:
    removed = forget_unit(ledger, "label LBL-0009", "asked for", NOW)
    with ledger.writing() as connection:
        first = connection.execute(select(content.c.digest).limit(1)).scalar_one()
        damaged = update(content).where(content.c.digest == first)
        connection.execute(damaged.values(packed=b"no deflate, and lbl-0009"))
    assert any("which names it" in line for line in search(ledger, removed).found)
    ledger.close()


def test_what_was_set_aside_under_its_name_is_forgotten_too(ledger: Ledger, tmp_path: Path) -> None:
    for name in ("lbl-0009", "other"):
        lay_down(tmp_path / name, {"report.json": name.encode()})
        add_to(ledger, tmp_path / name)
    removed = forget_unit(ledger, "label LBL-0009", "asked for", NOW)
    sweep(ledger)
    assert search(ledger, removed).found == ()
    with ledger.reading() as connection:
        (left,) = connection.execute(select(set_aside.c.name)).scalars()
    assert left.endswith("other")
    ledger.close()


def test_copies_that_lie_beside_the_ledger_are_searched(ledger: Ledger) -> None:
    if ledger.is_file:
        beside = [
            ledger.file.with_name(f"{ledger.file.name}.version-0000"),
            ledger.file.with_name(f".{ledger.file.name}.0a0b0c0d.part"),
        ]
        for path in beside:
            path.write_bytes(b"..LBL-0009..")
        removed = forget_unit(ledger, "label LBL-0009", "asked for", NOW)
        sweep(ledger)
        assert search(ledger, removed).found == tuple(
            f"LBL-0009 in {path}" for path in sorted(beside)
        )
    ledger.close()


def test_what_the_server_counted_of_it_is_gone(ledger: Ledger) -> None:
    if not ledger.is_file:
        run_alone(ledger.engine, "ANALYZE")
        removed = forget_unit(ledger, "label LBL-0009", "asked for", NOW)
        assert any("statistics of" in line for line in search(ledger, removed).found)
        sweep(ledger)
        assert search(ledger, removed).found == ()
    ledger.close()


def test_a_unit_of_thousands_of_serials_is_forgotten(ledger: Ledger, tmp_path: Path) -> None:
    own = tree_of(5)
    own["inventory"]["drive"] = section(*(device(serial=f"DRX{n:06d}") for n in range(1500)))
    lay_down(tmp_path / "many", {"report.json": raw_of(own)})
    add_to(ledger, tmp_path / "many")
    with ledger.reading() as connection:
        (match,) = find_units(connection, "DRX000001")
    removed = forget_unit(ledger, match.unit, "asked for", NOW)
    assert len(removed.values) > 1500
    if not ledger.is_file:
        assert search(ledger, removed).found == ()
    ledger.close()


def test_a_clock_that_was_never_set_makes_no_report_old(ledger: Ledger, tmp_path: Path) -> None:
    for number, day in ((11, "2015-01-01"), (12, "2099-01-01")):
        moment = {"text": f"{day}T00:00:00Z", "source": "clock"}
        own = circumstances(number, started=moment, finished=moment)
        lay_down(tmp_path / day, {"report.json": raw_of(tree_of(number, circumstances=own))})
    add_to(ledger, tmp_path / "2015-01-01", tmp_path / "2099-01-01")
    with ledger.reading() as connection:
        assert count_undated(connection, NOW) == 2
    forget_before(ledger, NOW, bytes(32), "old", NOW)
    with ledger.reading() as connection:
        left = connection.execute(select(report.c.work_order)).scalars().all()
        assert {order for order in left if order.startswith("T-")} == {"T-11", "T-12"}
        assert count_undated(connection, NOW) == 2
    ledger.close()


def test_what_was_set_aside_long_ago_is_struck_off(ledger: Ledger, tmp_path: Path) -> None:
    lay_down(tmp_path / "LBL-0001", {"report.json": b"{}"})
    add_to(ledger, tmp_path / "LBL-0001")
    for before, count in ((NOW, 1), (NOW + 1, 0)):
        forget_before(ledger, before, bytes(32), "old", NOW)
        with ledger.reading() as connection:
            assert len(connection.execute(select(set_aside.c.name)).all()) == count
    ledger.close()
