"""Memory of a program and all its children, as they share it: the largest sum of PSS seen.

PSS counts a page by how many share it, so the sum is what the machine has less of (proc(5),
`/proc/PID/smaps_rollup`). Needs the right to look into the processes, root for those without dumps.
"""

import subprocess
import time
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Final

PAUSE: Final = 0.003
KIB_IN_MB: Final = 1_000_000 / 1024


def largest_pss(command: Sequence[str], environment: Mapping[str, str]) -> tuple[float, int]:
    """MB of the program and its children at their most, and how many processes there were then."""
    program = subprocess.Popen(
        command, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    most, count = 0, 0
    while program.poll() is None:
        sizes = [_pss_kib(pid) for pid in _family(program.pid)]
        if sum(sizes) > most:
            most, count = sum(sizes), len(sizes)
        time.sleep(PAUSE)
    return most / KIB_IN_MB, count


def _family(pid: int) -> list[int]:
    found = [pid]
    for parent in found:
        try:
            told = Path(f"/proc/{parent}/task/{parent}/children").read_text("ascii")
        except OSError:
            continue
        found += map(int, told.split())
    return found


def _pss_kib(pid: int) -> int:
    try:
        lines = Path(f"/proc/{pid}/smaps_rollup").read_text("ascii").splitlines()
    except OSError:
        return 0
    return next((int(line.split()[1]) for line in lines if line.startswith("Pss:")), 0)
