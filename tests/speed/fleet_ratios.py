"""Summary and collisions of a million reports against SQL by hand, each in a process of its own.

`python tests/speed/fleet_ratios.py [ORDERS]`: makes a planted fleet, then asks it in turn by both
ways, several rounds, and compares the least of each. Figures for people, no gate.
"""

import json
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

import duckdb
import fleet_sql

from closeout.depot.collisions import find_collisions, newest_week
from closeout.depot.questions.opening import MEMORY, open_index
from closeout.depot.summary import Terms, sum_up
from closeout.depot.weeks import weeks_until
from depot.fleet import make_fleet
from depot.fleet_drawn import Planted

PLANTED = Planted(
    clashes=40,
    fillers=40,
    odd_station=5,
    odd_rule=6,
    wrong_model=2,
    bad_part=(0, 1),
    stale_station=3,
)
ROUNDS = 2
TARGET = 1.5
NOW = 1_900_000_000
WAYS = ("summary", "summary by hand", "collisions", "collisions by hand")


def by_hand(folder: Path, statements: tuple[str, ...]) -> None:
    """Every statement over the same Parquet, its answer fetched."""
    connection = duckdb.connect(config={"memory_limit": MEMORY})
    for name in ("report", "finding", "step", "part", "identity"):
        files = f"{folder}/{name}/*/*.parquet"
        connection.execute(
            f"create view {name} as select * from read_parquet('{files}',"  # noqa: S608
            " hive_partitioning = true, hive_types_autocast = false)"
        )
    for statement in statements:
        connection.execute(statement).fetchall()


def ask(folder: Path, way: str) -> None:
    """One way, once."""
    if way == "summary":
        sum_up(open_index(str(folder)), Terms(days=30, stale_days=30, now=NOW))
    elif way == "collisions":
        index = open_index(str(folder))
        find_collisions(index, weeks_until(newest_week(index), 4), 30, NOW)
    elif way == "summary by hand":
        by_hand(folder, fleet_sql.SUMMARY)
    else:
        by_hand(folder, fleet_sql.collisions("2026-W04", "2026-W07"))


def measure(folder: Path, way: str) -> tuple[float, float]:
    """Seconds of the processor and megabytes of one way in a process of its own."""
    command = [sys.executable, __file__, str(folder), way]
    told = subprocess.run(command, check=True, capture_output=True)
    seconds, megabytes = json.loads(told.stdout)
    return seconds, megabytes


def most_memory() -> float:
    """The most megabytes that this process held; what it was forked from is not counted."""
    status = Path("/proc/self/status").read_text("utf-8")
    told = next(line for line in status.splitlines() if line.startswith("VmHWM"))
    return int(told.split()[1]) / 1000


def main(orders: int) -> None:
    """Lays out the fleet, and prints a line a figure."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "export"
        fleet = make_fleet(7, orders, PLANTED, weeks=60)
        counts = {name: table.num_rows for name, table in fleet.tables.items()}
        fleet.write_parquet(folder)
        del fleet
        say(", ".join(f"{count:,} in {name}" for name, count in counts.items()))
        found: dict[str, list[tuple[float, float]]] = {}
        for _ in range(ROUNDS):
            for way in WAYS:
                found.setdefault(way, []).append(measure(folder, way))
        for way in ("summary", "collisions"):
            ours, plain = min(found[way])[0], min(found[f"{way} by hand"])[0]
            most = max(megabytes for _, megabytes in found[way])
            mark = "ok  " if ours / plain <= TARGET else "OVER"
            say(
                f"{mark} {way:<12} {ours:6.2f} s {ours / plain:5.2f} x by hand ({plain:.2f} s)"
                f", at most {TARGET} x; {most:.0f} MB, at most 2000"
            )


def say(line: str) -> None:
    """One line."""
    print(line, flush=True)  # noqa: T201 - the figure is what it is for


if __name__ == "__main__":
    if len(sys.argv) == 3:
        before = time.process_time()
        ask(Path(sys.argv[1]), sys.argv[2])
        spent = time.process_time() - before
        say(json.dumps([spent, most_memory()]))
    else:
        main(int(sys.argv[1]) if len(sys.argv) == 2 else 800_000)
