"""Backups and what is restored from them: every row and byte the same, or nothing at all."""

import errno
import os
import sqlite3
from pathlib import Path

import pytest
from sqlalchemy import select, update

from closeout.depot import backup, file_copy
from closeout.depot.address import read_address
from closeout.depot.backup import make_backup, restore
from closeout.depot.failure import LedgerError
from closeout.depot.ledger import Ledger, open_ledger
from closeout.depot.tables import content, tables
from strategies.depot_reports import add, lay_down, lay_many

TOP = Path("/")
Rows = dict[str, list[tuple[object, ...]]]


def every_row(ledger: Ledger) -> Rows:
    """Every row of every table, bytes and all."""
    with ledger.reading() as connection:
        return {
            table.name: [
                tuple(bytes(one) if isinstance(one, memoryview) else one for one in row)
                for row in connection.execute(select(table).order_by(*table.primary_key)).all()
            ]
            for table in tables.sorted_tables
        }


@pytest.fixture
def filled(address: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Ledger:
    """A ledger with something in most tables, and copies made of it in many small pieces."""
    monkeypatch.setattr(backup, "AT_ONCE", 2)
    monkeypatch.setattr(backup, "OF_CONTENT", 2)
    lay_down(tmp_path / "r" / "bad", {"report.json": b"{"})
    return add(address, lay_many(tmp_path / "r" / "good", 5), tmp_path / "r" / "bad")[1]


@pytest.fixture(params=["file", "server"])
def elsewhere(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Another address, to restore to."""
    if request.param == "file":
        return str(tmp_path / "other.sqlite")
    made: str = request.getfixturevalue("server").new_database()
    return made


def test_what_is_restored_is_the_same_to_the_byte(
    filled: Ledger, elsewhere: str, tmp_path: Path
) -> None:
    before = every_row(filled)
    counts = make_backup(filled, tmp_path / "backup.sqlite")
    assert counts == {name: len(rows) for name, rows in before.items()}
    assert sorted(path.name for path in tmp_path.glob("*backup*")) == ["backup.sqlite"]
    assert restore(tmp_path / "backup.sqlite", read_address(elsewhere, TOP)) == counts
    again = open_ledger(read_address(elsewhere, TOP))
    assert every_row(again) == before
    with pytest.raises(LedgerError, match="a backup is restored into an empty ledger"):
        restore(tmp_path / "backup.sqlite", again.url)
    again.close()
    opened = open_ledger(read_address(str(tmp_path / "backup.sqlite"), TOP))
    assert every_row(opened) == before
    opened.close()
    with pytest.raises(LedgerError, match="nothing is overwritten"):
        make_backup(filled, tmp_path / "backup.sqlite")
    filled.close()


def test_a_backup_that_is_interrupted_leaves_nothing(
    filled: Ledger, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    names = set(tmp_path.iterdir())

    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(file_copy, "_flush", interrupted)
    with pytest.raises(KeyboardInterrupt):
        make_backup(filled, tmp_path / "b")
    assert set(tmp_path.iterdir()) == names
    monkeypatch.undo()

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(file_copy, "_flush", full)
    with pytest.raises(LedgerError, match=r"cannot be written: .*No space left on device"):
        make_backup(filled, tmp_path / "b")
    assert set(tmp_path.iterdir()) == names
    filled.close()


def test_a_stick_without_links_gets_its_backup_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ledger = add(str(tmp_path / "l.sqlite"))[1]

    def refused(*_: object) -> None:
        raise OSError(errno.EPERM, "Operation not permitted")

    monkeypatch.setattr(os, "link", refused)
    make_backup(ledger, tmp_path / "b")
    assert (tmp_path / "b").stat().st_mode & 0o777 == 0o600
    with pytest.raises(LedgerError, match=r"/none/c: cannot be made: no such folder"):
        make_backup(ledger, tmp_path / "none" / "c")
    monkeypatch.setattr(os, "link", lambda *_: (_ for _ in ()).throw(FileExistsError(17, "there")))
    with pytest.raises(LedgerError, match="nothing is overwritten"):
        make_backup(ledger, tmp_path / "c")
    monkeypatch.setattr(os, "link", lambda *_: (_ for _ in ()).throw(OSError(5, "broken")))
    with pytest.raises(LedgerError, match="cannot be written"):
        make_backup(ledger, tmp_path / "c")
    ledger.close()


def test_what_is_no_backup_is_refused(tmp_path: Path) -> None:
    target = read_address(str(tmp_path / "t.sqlite"), TOP)
    (tmp_path / "noise").write_bytes(b"noise" * 99)
    sqlite3.connect(tmp_path / "empty").close()
    for name, told in (
        ("gone", "no such file"),
        ("noise", "a file of another kind"),
        ("empty", "no ledger there"),
    ):
        with pytest.raises(LedgerError, match=told):
            restore(tmp_path / name, target)
    assert not (tmp_path / "t.sqlite").exists()


def test_a_backup_of_an_older_version_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ledger = add(str(tmp_path / "l.sqlite"))[1]
    make_backup(ledger, tmp_path / "b")
    ledger.close()
    monkeypatch.setattr(backup, "is_older", lambda _: True)
    with pytest.raises(LedgerError, match="of an older version"):
        restore(tmp_path / "b", read_address(str(tmp_path / "t.sqlite"), TOP))


def test_of_a_damaged_ledger_no_backup_is_made(tmp_path: Path) -> None:
    ledger = add(str(tmp_path / "l.sqlite"), lay_many(tmp_path / "r", 40))[1]
    ledger.close()
    middle = ledger.file.stat().st_size // 2
    for begin, told in ((middle, "damaged, and a copy"), (100, "damaged")):
        with ledger.file.open("r+b") as stream:
            stream.seek(begin)
            stream.write(b"\xff" * (1 << 14))
        with pytest.raises(LedgerError, match=told):
            make_backup(ledger, tmp_path / "backup.sqlite")
        assert list(tmp_path.glob("*backup*")) == list(tmp_path.glob(".*backup*")) == []
    ledger.close()


@pytest.mark.parametrize("packed", [b"noise", b"x\x9c\x03\x00\x00\x00\x00\x01"])
def test_a_damaged_backup_restores_nothing(
    filled: Ledger, elsewhere: str, tmp_path: Path, packed: bytes
) -> None:
    make_backup(filled, tmp_path / "b")
    filled.close()
    damaged = open_ledger(read_address(str(tmp_path / "b"), TOP))
    with damaged.writing() as connection:
        last = select(content.c.digest).order_by(content.c.digest.desc()).limit(1)
        own = content.c.digest == last.scalar_subquery()
        connection.execute(update(content).where(own).values(packed=packed))
    damaged.close()
    with pytest.raises(LedgerError, match=r"the backup is damaged: .*; nothing was restored"):
        restore(tmp_path / "b", read_address(elsewhere, TOP))
    again = open_ledger(read_address(elsewhere, TOP))
    assert all(not rows for rows in every_row(again).values())
    again.close()


def test_a_backup_that_grows_while_it_is_read_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ledger = add(str(tmp_path / "l.sqlite"), lay_many(tmp_path / "r", 1))[1]
    make_backup(ledger, tmp_path / "b")
    ledger.close()
    monkeypatch.setattr(backup, "_all_rows", lambda _: iter(()))
    with pytest.raises(LedgerError, match="nothing was restored"):
        restore(tmp_path / "b", read_address(str(tmp_path / "t.sqlite"), TOP))
