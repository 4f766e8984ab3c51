"""What a ledger says of a report's seal: which one it keeps, and what it makes of others."""

import gzip
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from sqlalchemy import select

from closeout.depot.bundle import EVIDENCE as EVIDENCE_NAME
from closeout.depot.examine import Terms, unpack
from closeout.depot.ledger import Ledger
from closeout.depot.tables import belonging, content, report
from closeout.model.frozen import replace
from closeout.report.seal import Signer, make_seal, to_base64url
from closeout.report.unrun_json import render_unrun_json
from strategies.depot_reports import (
    EVIDENCE,
    LINES,
    UNRUN,
    add,
    add_to,
    lay_down,
    raw_of,
    rows_of,
    tree_of,
)

pytestmark = pytest.mark.usefixtures("_one_processor")


def test_a_seal_that_is_proven_takes_the_place_of_one_that_is_not(
    tmp_path: Path, address: str, signer: Signer
) -> None:
    raw = raw_of(tree_of())
    stranger = Ed25519PrivateKey.from_private_bytes(bytes(32))
    public = stranger.public_key().public_bytes(Encoding.Raw, PublicFormat.Raw)
    other = replace(
        signer,
        station=replace(signer.station, code="X-1", key=to_base64url(public)),
        secret=to_base64url(bytes(32)),
    )
    seals = {name: make_seal(raw, who) for name, who in (("other", other), ("own", signer))}
    terms = Terms(stations=(signer.station,))
    for name, seal in seals.items():
        lay_down(tmp_path / name, {"report.json": raw, "report.jws": seal})
    lay_down(tmp_path / "alone", {"report.json": raw, "evidence.jsonl.gz": EVIDENCE})
    ledger = add(address, tmp_path / "other", terms=terms)[1]
    assert add_to(ledger, tmp_path / "alone", terms=terms).completed == 1
    assert kept_of(ledger) == ("unknown", seals["other"], 3)  # evidence says nothing of a seal
    assert add_to(ledger, tmp_path / "own", terms=terms).completed == 1
    assert kept_of(ledger) == ("intact", seals["own"], 3)
    assert add_to(ledger, tmp_path / "other", terms=terms).known == 1
    assert kept_of(ledger) == ("intact", seals["own"], 3)
    ledger.close()


def kept_of(ledger: Ledger) -> tuple[str, bytes, int]:
    """What the index says of the seal, the seal that is kept, and how many files there are."""
    with ledger.reading() as connection:
        state = connection.execute(select(report.c.seal)).scalar_one()
        wanted = select(content).join(belonging).where(belonging.c.name == "report.jws")
        row = connection.execute(wanted).one()
        count = len(connection.execute(select(content.c.digest)).all())
    return state, unpack(row.packed, row.digest), count


def test_what_is_forged_beside_a_known_report_is_set_aside(
    tmp_path: Path, address: str, signer: Signer
) -> None:
    raw, terms = raw_of(tree_of()), Terms(stations=(signer.station,))
    sound = {"report.json": raw, "report.jws": make_seal(raw, signer), EVIDENCE_NAME: EVIDENCE}
    ledger = add(address, lay_down(tmp_path / "a", sound), terms=terms)[1]
    before = rows_of(ledger)
    forged = {EVIDENCE_NAME: b"forged", "report.jws": make_seal(b"{}", signer)}
    for name, content_of_it in forged.items():
        told = add_to(ledger, lay_down(tmp_path / name, sound | {name: content_of_it}), terms=terms)
        assert (told.known, len(told.spoiled)) == (0, 1)
    repacked = sound | {EVIDENCE_NAME: gzip.compress(LINES, 1, mtime=5)}
    assert add_to(ledger, lay_down(tmp_path / "b", repacked), terms=terms).known == 1
    after = rows_of(ledger)
    assert (len(after.pop("set_aside")), before.pop("set_aside")) == (1, [])
    assert after == before
    ledger.close()


def test_a_unit_whose_clock_is_years_behind_is_taken_and_marked(
    tmp_path: Path, address: str, signer: Signer
) -> None:
    """A new board wakes years ago, and the key that sealed it was not made then."""
    raw = raw_of(tree_of())
    station = replace(signer.station, first_day="2026-12-01")
    lay_down(tmp_path / "a", {"report.json": raw, "report.jws": make_seal(raw, signer)})
    told, ledger = add(address, tmp_path / "a", terms=Terms(stations=(station,)))
    assert (told.added, told.unproven, told.spoiled) == (1, 1, ())
    with ledger.reading() as connection:
        row = connection.execute(select(report.c.seal, report.c.station)).one()
    assert tuple(row) == ("early", "B-09")
    again = add_to(ledger, tmp_path / "a", terms=Terms(stations=(station,)))
    assert (again.known, again.spoiled) == (1, ())
    known = Terms(stations=(signer.station,))  # the record was wrong, and is mended
    assert add_to(ledger, tmp_path / "a", terms=known).completed == 1
    with ledger.reading() as connection:
        assert connection.execute(select(report.c.seal)).scalar_one() == "intact"
    ledger.close()


def test_the_right_seal_after_the_wrong_one(tmp_path: Path, address: str, signer: Signer) -> None:
    raw = raw_of(tree_of())
    wrong = lay_down(tmp_path / "a", {"report.json": raw, "report.jws": make_seal(b"x", signer)})
    right = lay_down(tmp_path / "b", {"report.json": raw, "report.jws": make_seal(raw, signer)})
    terms = Terms(stations=(signer.station,))
    told, ledger = add(address, wrong, terms=terms)
    assert [one.reason for one in told.spoiled] == [
        "changed: these are not the bytes that station B-09 sealed"
    ]
    assert add_to(ledger, right, terms=terms).added == 1
    assert rows_of(ledger)["set_aside"] == []
    ledger.close()


def test_a_sealed_record_of_a_unit_that_was_not_judged(
    tmp_path: Path, address: str, signer: Signer
) -> None:
    raw = render_unrun_json(UNRUN)
    lay_down(tmp_path / "a", {"unrun.json": raw, "unrun.jws": make_seal(raw, signer)})
    told, ledger = add(address, tmp_path / "a", terms=Terms(stations=(signer.station,)))
    assert (told.added, told.unproven) == (1, 0)
    rows = rows_of(ledger)
    assert sorted(name for _, name, _ in rows["belonging"]) == ["unrun.json", "unrun.jws"]
    ledger.close()
