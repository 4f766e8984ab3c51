"""What a ledger has to bear: killed at any moment, two at once, a full disk, a server that goes."""

import os
import random
import re
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Final

import pytest
from sqlalchemy import func, select

from closeout.depot.address import read_address
from closeout.depot.engine import run_alone
from closeout.depot.examine import Terms, unpack
from closeout.depot.failure import LedgerError
from closeout.depot.folders import find_arrivals
from closeout.depot.intake import take_in
from closeout.depot.ledger import Ledger, open_ledger
from closeout.depot.tables import belonging, content, report
from strategies.depot_reports import NOW, add, add_to, lay_many
from strategies.postgres import Server

KILLS: Final = int(os.environ.get("CLOSEOUT_LEDGER_KILLS", "3"))
"""How often each ledger is killed; `make ledger-proof` does so hundreds of times."""
COUNT: Final = 300
LONGEST: Final = 2.5
SOON: Final = 120
KEPT: Final = re.compile(r"^kept: (\d+) reports?, (\d+) of them new$", re.MULTILINE)


@pytest.fixture(scope="module")
def reports(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with many small reports; several chunks of them."""
    return lay_many(tmp_path_factory.mktemp("many") / "reports", COUNT)


def command_of(address: str, *arguments: object) -> list[str]:
    """The command as a user gives it."""
    words = ["depot", *map(str, arguments), "--ledger", address]
    return [sys.executable, "-m", "closeout", *words]


def run(command: Sequence[str]) -> subprocess.CompletedProcess[str]:
    """The command to its end."""
    return subprocess.run(
        command, check=False, capture_output=True, text=True, timeout=SOON, env=unmeasured()
    )


def unmeasured() -> dict[str, str]:
    """The environment without what has children measured, which write files of their own."""
    return {name: told for name, told in os.environ.items() if not name.startswith("COVERAGE")}


def is_there(address: str) -> bool:
    """Whether there is a ledger with tables; a command may be killed before it made them."""
    try:
        open_ledger(read_address(address, Path("/"))).close()
    except LedgerError as error:
        if "no ledger there" not in str(error):
            raise
        return False
    return True


def count_and_prove(address: str) -> int:
    """How many reports are in it, each of them once and whole."""
    ledger = open_ledger(read_address(address, Path("/")))
    if ledger.is_file:
        assert run_alone(ledger.engine, "PRAGMA integrity_check") == [("ok",)]
        assert run_alone(ledger.engine, "PRAGMA foreign_key_check") == [()]
    with ledger.reading() as connection:
        numbers = connection.execute(select(report.c.id, report.c.work_order)).all()
        names = connection.execute(select(belonging.c.report_id, belonging.c.name)).all()
        for packed, digest in connection.execute(select(content.c.packed, content.c.digest)):
            unpack(packed, digest)
    ledger.close()
    assert len({order for _, order in numbers}) == len(numbers)
    wanted = {"report.json", "evidence.jsonl.gz"}
    assert sorted(map(tuple, names)) == sorted(
        (number, name) for number, _ in numbers for name in wanted
    )
    return len(numbers)


@pytest.mark.slow
@pytest.mark.unmeasured
def test_nothing_is_lost_and_nothing_twice_wherever_it_is_killed(
    reports: Path, address: str
) -> None:
    chance = random.Random(7)  # noqa: S311 - when it is killed is no secret
    command = command_of(address, "add", reports)
    before = 0
    for _ in range(KILLS):
        program = subprocess.Popen(
            command, stderr=subprocess.PIPE, stdout=subprocess.PIPE, env=unmeasured()
        )
        time.sleep(chance.uniform(0.1, LONGEST))
        program.kill()
        _, told = program.communicate(timeout=SOON)
        said = KEPT.findall(told.decode())
        told_of = int(said[-1][1]) if said else 0
        after = count_and_prove(address) if is_there(address) else 0
        assert after >= before + told_of
        before = after if after < COUNT else 0
        if after == COUNT:
            forget_all(address)
    assert run(command).returncode == 0
    assert count_and_prove(address) == COUNT


def forget_all(address: str) -> None:
    """An empty ledger again, so that the next run has something to lose."""
    ledger = open_ledger(read_address(address, Path("/")))
    with ledger.writing() as connection:
        for table in reversed(report.metadata.sorted_tables):
            connection.execute(table.delete())
    ledger.close()


@pytest.mark.slow
@pytest.mark.unmeasured
def test_two_at_once_take_in_everything_once(reports: Path, address: str) -> None:
    command = command_of(address, "add", reports, "--quiet")
    programs = [
        subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=unmeasured())
        for _ in range(2)
    ]
    told = [program.communicate(timeout=SOON)[0] for program in programs]
    assert [program.returncode for program in programs] == [0, 0]
    assert sum(int(line.split()[0]) for line in told) == COUNT
    assert count_and_prove(address) == COUNT


@pytest.mark.parametrize("kib", [40, 300])
@pytest.mark.unmeasured
def test_a_full_disk_is_one_line_and_costs_nothing_told(
    reports: Path, tmp_path: Path, kib: int
) -> None:
    address = str(tmp_path / "ledger.sqlite")
    command = command_of(address, "add", reports)
    told = run(["prlimit", f"--fsize={kib << 10}", "--", *command])
    assert told.returncode == 2
    *kept, line = told.stderr.splitlines()
    assert line.startswith(f"closeout: {address}: ")
    assert "disk" in line
    last = KEPT.findall("\n".join(kept))
    if is_there(address):
        assert count_and_prove(address) >= (int(last[-1][1]) if last else 0)
    assert run(command).returncode == 0
    assert count_and_prove(address) == COUNT


def test_a_server_that_restarts_in_the_midst(reports: Path, server: Server) -> None:
    address = server.new_database()
    ledger = add(address)[1]
    steps = take_in(find_arrivals([reports]), ledger, Terms(), NOW)
    told = next(steps).added
    server.stop()
    with pytest.raises(LedgerError) as failed:
        next(steps)
    server.start()
    line = str(failed.value)
    assert "\n" not in line
    assert "the server cannot be reached, or went away" in line
    assert "what was said to be kept is kept; run the same command again" in line
    ledger.close()
    again = open_ledger(read_address(address, Path("/")))
    assert told <= count_of(again) < COUNT
    add_to(again, reports)
    assert count_of(again) == COUNT
    again.close()


def count_of(ledger: Ledger) -> int:
    """How many reports are in it."""
    with ledger.reading() as connection:
        return connection.execute(select(func.count()).select_from(report)).scalar() or 0


def test_a_server_that_is_not_there_is_one_line(tmp_path: Path) -> None:
    told = run(command_of(f"postgresql://who:secret@/none?host={tmp_path}", "set-aside"))
    assert (told.returncode, told.stdout) == (2, "")
    (line,) = told.stderr.splitlines()
    assert line.startswith("closeout: postgresql://who:***@/none: the server cannot be reached")
    assert "secret" not in line
