"""How long `depot add` takes, as times the bare work in the same run: for a person to look at.

The bare work reads each report, takes its SHA-256, decodes it by `json.loads`, and puts all rows
and bytes into one table by one bulk insert; on one processor, and with nothing looked at. Memory is
the most that one of its processes held, for a quarter of the reports and for all of them.

`python tests/speed/ledger.py 20000`; each report is one of the shipped examples of 340 kB with its
own serials.
"""

import gzip
import json
import os
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Final

from timing import say, tell

from closeout.expect.shipped import shipped_folder

COUNT: Final = 2000
EXAMPLE: Final = "fen-14-healthy.json"
SERIALS: Final = (b"NL7QK42D", b"MB40718833", b"8c0f2a56-41d3", b"PS25628841", b"DEMO-3101")
LINES: Final = b'{"evidence":1}\n' * 100
BY_PROCESSOR: Final = "the same by the processors' time"
TABLE: Final = "CREATE TABLE report (digest TEXT PRIMARY KEY, verdict TEXT, raw BLOB)"


def lay_down(folder: Path, count: int) -> Path:
    """So many attempts of as many units."""
    example = (shipped_folder("reports") / "examples" / EXAMPLE).read_bytes()
    own = json.loads(example)["circumstances"]["evidence_digest"].encode()
    example = example.replace(own, sha256(LINES).hexdigest().encode())
    evidence = gzip.compress(LINES, mtime=0)
    for number in range(count):
        raw = example
        for serial in SERIALS:
            raw = raw.replace(serial, serial[:-5] + f"{number:05d}".encode())
        attempt = folder / f"{number // 1000}" / f"T-{number}" / "attempt-0001-aa"
        attempt.mkdir(parents=True)
        (attempt / "report.json").write_bytes(raw)
        (attempt / "evidence.jsonl.gz").write_bytes(evidence)
    return folder


def bare_work(folder: Path, target: Path) -> None:
    """What cannot be left out, and nothing else."""

    def rows() -> Iterator[tuple[str, str, bytes]]:
        for place, _, names in os.walk(folder):
            for name in names:
                raw = Path(place, name).read_bytes()
                digest = sha256(raw).hexdigest()
                verdict = json.loads(raw)["verdict"] if name == "report.json" else ""
                yield f"{digest}{place}", verdict, raw

    database = sqlite3.connect(target)
    database.execute("PRAGMA synchronous = FULL")
    database.execute(TABLE)
    with database:
        database.executemany("INSERT INTO report VALUES (?, ?, ?)", rows())
    database.close()


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """Milliseconds by the clock and of all processors, and the peak of the memory in MiB."""

    clock: float
    processor: float
    memory: int


def measured(command: list[str]) -> Run:
    """One run of a program to its end, which has to be a good one."""
    start = time.perf_counter()
    program = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    _, status, usage = os.wait4(program.pid, 0)
    program.returncode = os.waitstatus_to_exitcode(status)
    assert program.returncode == 0
    return Run(
        clock=(time.perf_counter() - start) * 1000,
        processor=(usage.ru_utime + usage.ru_stime) * 1000,
        memory=usage.ru_maxrss >> 10,
    )


def run(count: int) -> None:
    """Prints the figures."""
    with tempfile.TemporaryDirectory() as name:
        root = Path(name)
        few, many = lay_down(root / "few", count // 4), lay_down(root / "many", count)
        tell(f"{count} reports of 340 kB with their evidence, on a file")
        start, busy = time.perf_counter(), time.process_time()
        bare_work(many, root / "bare.sqlite")
        bare = (time.perf_counter() - start) * 1000
        plain = (time.process_time() - busy) * 1000
        add = [sys.executable, "-m", "closeout", "depot", "add", "--quiet"]
        fewer = measured([*add, str(few), "--ledger", str(root / "few.sqlite")])
        whole = [*add, str(many), "--ledger", str(root / "ledger.sqlite")]
        for what, spent in (("depot add", measured(whole)), ("all known", measured(whole))):
            say(what, spent.clock, bare, "the bare work", 3)
            say(BY_PROCESSOR, spent.processor, plain, "the bare work", 3)
            tell(f"memory: {fewer.memory} MiB for {count // 4} new ones, now {spent.memory} MiB")
        sizes = [(root / f"{file}.sqlite").stat().st_size >> 20 for file in ("ledger", "bare")]
        tell(f"on the disk: {sizes[0]} MiB, the bare table {sizes[1]} MiB")


if __name__ == "__main__":
    run(int(sys.argv[1]) if len(sys.argv) > 1 else COUNT)
