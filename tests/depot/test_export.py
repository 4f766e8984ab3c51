"""The index as files: the same rows, whole folders, and tokens that tell no serial."""

import csv
import errno
import json
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select

from closeout.depot import columns
from closeout.depot import export as module
from closeout.depot.csv_file import guard
from closeout.depot.export import MARK, Form, export
from closeout.depot.failure import LedgerError
from closeout.depot.ledger import Ledger
from closeout.depot.remnants import held
from closeout.depot.tables import INDEX_TABLES, report
from closeout.depot.tokens import Tokens, known_values
from strategies.depot_reports import (
    add,
    add_to,
    circumstances,
    files_of,
    lay_down,
    raw_of,
    tree_of,
    uuid_of,
)  # fmt: skip
from strategies.depot_reports import (
    finding as failed,
)

parquet: Any = import_module("pyarrow.parquet")
SECRET = Tokens(b"secret of the depot")


def silent(_: str) -> None:
    """Nobody listens."""


def test_only_its_owner_may_read_an_export(ledger: Ledger, tmp_path: Path) -> None:
    folder = tmp_path / "new" / "tables"
    export(ledger, folder, Form(), silent)
    assert folder.stat().st_mode & 0o777 == 0o700


@pytest.fixture
def ledger(address: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Ledger]:
    """Reports of three months; one month has no part and no step."""
    monkeypatch.setattr(columns, "AT_ONCE", 3)
    for month in (9, 10, 11):
        for number in range(4):
            moment = {"text": f"2026-{month:02d}-02T10:00:0{number}Z", "source": "clock"}
            own = circumstances(month * 10 + number, started=moment, finished=moment)
            own["handling"]["label"] = "LBL-77Q" if number == 0 else ""
            tree = tree_of(month * 10 + number, circumstances=own)
            if month == 10:
                tree["first_steps"] = []
            if month == 11 and number == 0:
                personal = failed(
                    rule="system.serial", expected="SNXX77Y", found="=cmd|' /C calc'!A0"
                )
                told = failed(found=f"drive {uuid_of(110)} beside LBL-77q.", label="=1+1")
                tree["findings"] = [personal, told]
            lay_down(tmp_path / "r" / f"{month}-{number}", {"report.json": raw_of(tree)})
    told_of, made = add(address, tmp_path / "r")
    assert told_of.added == 12
    yield made
    made.close()


def parquet_rows(folder: Path, name: str) -> list[tuple[object, ...]]:
    """The rows of a table out of all months."""
    files = sorted(folder.glob(f"{name}/month=*/part-0.parquet"))
    assert [file.parent.name for file in files] == [
        *("month=2026-09", "month=2026-10", "month=2026-11"),
    ]
    return [
        tuple(row.values())
        for file in files
        for row in parquet.ParquetFile(file).read().to_pylist()
    ]


def test_the_files_hold_the_very_rows(ledger: Ledger, tmp_path: Path) -> None:
    counts = export(ledger, tmp_path / "out", Form(), silent)
    with ledger.reading() as connection:
        for table in INDEX_TABLES:
            rows = [tuple(row) for row in connection.execute(select(table)).all()]
            assert sorted(parquet_rows(tmp_path / "out", table.name)) == sorted(rows)
            assert counts[table.name] == len(rows)
    file = next((tmp_path / "out").glob("report/*/*.parquet"))
    assert parquet.ParquetFile(file).metadata.row_group(0).column(0).compression == "ZSTD"
    assert parquet.ParquetFile(file).schema_arrow.names == report.columns.keys()
    mark = json.loads((tmp_path / "out" / MARK).read_text())
    assert (mark["files"], mark["is_hidden"], mark["rows"]) == ("parquet", False, counts)


def test_an_export_is_replaced_whole_and_nothing_else_is(
    ledger: Ledger, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "out"
    out.mkdir()
    months: list[str] = []
    export(ledger, out, Form(), months.append)
    assert months == ["2026-09", "2026-10", "2026-11"]
    (out / "left over").touch()
    add_to(ledger, lay_down(tmp_path / "new", dict(files_of(500))))
    assert export(ledger, out, Form(), silent)["report"] == 13
    assert not (out / "left over").exists()
    before = {path: path.read_bytes() for path in out.rglob("*") if path.is_file()}

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(module, "_flush", full)
    with pytest.raises(LedgerError, match="cannot be written: No space left on device"):
        export(ledger, out, Form(), silent)
    assert {path: path.read_bytes() for path in out.rglob("*") if path.is_file()} == before
    assert sorted(path.name for path in tmp_path.iterdir() if "out" in path.name) == ["out"]
    for other in (tmp_path / "r", tmp_path / "r/9-0/report.json"):
        with pytest.raises(LedgerError, match="is there and is no export: nothing is overwritten"):
            export(ledger, other, Form(), silent)


def hidden_beside(out: Path) -> list[str]:
    return sorted(
        path.name for path in out.parent.iterdir() if path.name.startswith(f".{out.name}")
    )


def test_what_a_killed_export_left_is_cleared(ledger: Ledger, tmp_path: Path) -> None:
    """Half of one with serials in it, the one before it, and folders that are none of ours."""
    out = tmp_path / "out"
    part = tmp_path / ".out.0123abcd.part"
    (part / "report" / "month=2026-11").mkdir(parents=True)
    (part / "report" / "month=2026-11" / "part-0.parquet").write_bytes(b"SN7K000001Q")
    export(ledger, out, Form(), silent)
    for name in (".out.notes", ".out.0123abcd.kept"):
        (tmp_path / name).mkdir()
    (tmp_path / ".out.89abcdef.part").write_bytes(b"a file")
    shutil.copytree(out, tmp_path / ".out.0123abcd.old")
    export(ledger, out, Form(), silent)
    assert hidden_beside(out) == [".out.0123abcd.kept", ".out.89abcdef.part", ".out.notes"]


def test_an_export_that_had_made_room_is_put_back(
    ledger: Ledger, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Killed between two names, and the next one cannot be written."""
    out = tmp_path / "out"
    export(ledger, out, Form(), silent)
    out.rename(tmp_path / ".out.0123abcd.old")

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(module, "_flush", full)
    with pytest.raises(LedgerError, match="No space left"):
        export(ledger, out, Form(), silent)
    assert (out / MARK).is_file()
    assert hidden_beside(out) == []


def test_what_somebody_still_writes_is_left_alone(ledger: Ledger, tmp_path: Path) -> None:
    part = tmp_path / ".out.0123abcd.part"
    part.mkdir()
    with held(part):
        export(ledger, tmp_path / "out", Form(), silent)
        assert part.is_dir()
    export(ledger, tmp_path / "out", Form(), silent)
    assert not part.exists()


KILLED = """
import os, signal, sys
from pathlib import Path
from closeout.depot import export as module
from closeout.depot.address import read_address
from closeout.depot.ledger import open_ledger

module._put_in_place = lambda *_: os.kill(os.getpid(), signal.SIGKILL)
ledger = open_ledger(read_address(sys.argv[1], Path("/")))
module.export(ledger, Path(sys.argv[2]), module.Form(), lambda _: None)
"""


def test_a_killed_export_leaves_nothing_that_the_next_does_not_clear(
    tmp_path: Path, address: str
) -> None:
    """As whoever loses the power: killed where all is written and nothing has its name yet."""
    ledger = add(address, lay_down(tmp_path / "r", dict(files_of(1))))[1]
    out = tmp_path / "out"
    command = [sys.executable, "-c", KILLED, address, str(out)]
    assert subprocess.run(command, check=False).returncode == -signal.SIGKILL
    assert len(hidden_beside(out)) == 1
    export(ledger, out, Form(), silent)
    assert hidden_beside(out) == []
    ledger.close()


def test_an_empty_ledger_has_nothing_to_export(address: str, tmp_path: Path) -> None:
    ledger = add(address)[1]
    with pytest.raises(LedgerError, match="no reports in it"):
        export(ledger, tmp_path / "out", Form(), silent)
    assert not (tmp_path / "out").exists()
    ledger.close()


def test_csv_holds_the_same_and_no_formula(ledger: Ledger, tmp_path: Path) -> None:
    export(ledger, tmp_path / "out", Form(as_csv=True), silent)
    rows: list[dict[str, str]] = []
    for file in sorted((tmp_path / "out").glob("finding/*/*.csv")):
        with file.open(newline="", encoding="utf-8") as stream:
            rows += csv.DictReader(stream)
    with ledger.reading() as connection:
        assert len(rows) == len(connection.execute(select(INDEX_TABLES[1])).all())
    assert {row["found"] for row in rows} > {"'=cmd|' /C calc'!A0", "51 %"}
    assert "'=1+1" in {row["label"] for row in rows}


@pytest.mark.parametrize("text", ["=1", "+1", "-1", "@a", "\ta", "\ra", "|a", "%a"])
def test_a_cell_that_a_spreadsheet_would_run(text: str) -> None:
    assert guard(text) == f"'{text}"
    assert (guard("a=1"), guard(-1), guard(value=True)) == ("a=1", -1, True)


def test_tokens_tell_what_is_alike_and_not_what_it_is(ledger: Ledger, tmp_path: Path) -> None:
    export(ledger, tmp_path / "out", Form(tokens=SECRET), silent)
    whole = b"".join(path.read_bytes() for path in sorted((tmp_path / "out").rglob("*.parquet")))
    plain = b"".join(
        repr(parquet_rows(tmp_path / "out", table.name)).encode() for table in INDEX_TABLES
    )
    with ledger.reading() as connection:
        values = known_values(connection.execute(select(columns.identity.c.value)).scalars())
    assert len(values) > 50
    for value in {*values, "LBL-77Q", "SNXX77Y", "T-110"}:
        for spelling in (value, value.lower()):
            assert spelling.encode() not in plain
            assert spelling.encode() not in whole
    units = [row[4] for row in parquet_rows(tmp_path / "out", "report")]
    label = f"label {SECRET.token('LBL-77Q')}"
    assert units.count(label) == 3
    assert len(set(units)) == 10
    found = [row[8] for row in parquet_rows(tmp_path / "out", "finding")]
    assert f"drive {SECRET.token(uuid_of(110))} beside {SECRET.token('LBL-77Q')}." in found
    assert "51 %" in found
    assert json.loads((tmp_path / "out" / MARK).read_text())["is_hidden"]


def test_tokens_are_of_the_secret() -> None:
    assert SECRET.token("a") == SECRET.token("A") != Tokens(b"other").token("A")
    assert SECRET.token("") == ""
    assert len(SECRET.token("x" * 500)) == 22
