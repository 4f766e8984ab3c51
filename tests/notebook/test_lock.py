"""Seats: each process has one, and waits for one."""

import subprocess
import sys
from pathlib import Path

from notebook.lock import Seat

TAKE = """
import sys
from pathlib import Path
from notebook.lock import Seat
with Seat(map(Path, sys.argv[1:])).taken():
    print("taken", flush=True)
    sys.stdin.read()
"""


def taker(places: list[Path]) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-c", TAKE, *map(str, places)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        env={"PYTHONPATH": str(Path(__file__).parent.parent)},
    )


def test_a_process_that_has_a_seat_needs_no_other(tmp_path: Path) -> None:
    seat = Seat([tmp_path / "only"])
    with seat.taken(), seat.taken():
        pass
    with seat.taken():
        pass


def test_who_finds_no_seat_waits_for_one(tmp_path: Path) -> None:
    places = [tmp_path / "first", tmp_path / "second"]
    with taker(places) as first, taker(places) as second:
        assert first.stdout is not None
        assert second.stdout is not None
        assert first.stdout.readline() == second.stdout.readline() == b"taken\n"
        with taker(places) as third:
            assert third.stdout is not None
            assert third.poll() is None
            first.kill()
            assert third.stdout.readline() == b"taken\n"
            third.kill()
        second.kill()
