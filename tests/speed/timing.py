"""How a figure is taken and said: the least of several rounds, times the plainest way."""

import os
import subprocess
import time
from collections.abc import Callable, Mapping, Sequence
from typing import Final

ROUNDS_TIMED: Final = 7
MILLISECONDS: Final = 1000


def least(action: Callable[[], object], rounds: int = ROUNDS_TIMED) -> float:
    """Milliseconds of the fastest round."""
    times: list[float] = []
    for _ in range(rounds):
        start = time.perf_counter()
        action()
        times.append(time.perf_counter() - start)
    return min(times) * MILLISECONDS


def least_of_runs(
    command: Sequence[str], environment: Mapping[str, str], rounds: int = ROUNDS_TIMED
) -> float:
    """Milliseconds of the fastest run of a program, from its start to its end."""

    def run() -> None:
        subprocess.run(command, check=False, capture_output=True, env=environment)

    return least(run, rounds)


def least_processor(action: Callable[[], object]) -> float:
    """The same of the processor's time, which others on the machine disturb less."""
    times: list[float] = []
    for _ in range(ROUNDS_TIMED):
        start = time.process_time()
        action()
        times.append(time.process_time() - start)
    return min(times) * MILLISECONDS


def least_processor_of_runs(
    command: Sequence[str], environment: Mapping[str, str], rounds: int = ROUNDS_TIMED
) -> float:
    """Milliseconds of the processor that the run of a program took at the least."""
    times: list[float] = []
    for _ in range(rounds):
        program = subprocess.Popen(
            command, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        _, status, usage = os.wait4(program.pid, 0)
        program.returncode = os.waitstatus_to_exitcode(status)
        times.append(usage.ru_utime + usage.ru_stime)
    return min(times) * MILLISECONDS


def say(what: str, ours: float, plain: float, against: str, target: float | None = None) -> None:
    """One line: milliseconds, how many times the plain way, and how many there may be."""
    ratio = ours / plain
    mark, limit = "    ", ""
    if target is not None:
        mark, limit = "ok  " if ratio <= target else "OVER", f", at most {target:g} x"
    figures = f"{ours:8.1f} ms {ratio:6.2f} x {against} ({plain:.2f} ms){limit}"
    print(f"{mark} {what:<46} {figures}")  # noqa: T201 - the figure is what it is for


def tell(what: str) -> None:
    """One line of what was measured, on what."""
    print(f"\n{what}")  # noqa: T201 - says what the figures below are of
