"""Coverage-guided fuzzing: `python -m fuzz SECONDS [TARGET ...]`, in tests/. Without a name, all.

A target runs for that long from its seeds and from answers of the demo units. Inputs that reach
new code are kept as seeds; one that crashes is kept in crashes/, and the run fails. Needs atheris
(`pip install -e '.[fuzz]'`).
"""

import os
import re
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Final

from fuzz.corpus import EVERYBODYS, keep_seeds, seeds_of
from fuzz.reached import worth_keeping
from fuzz.starts import starts_of
from fuzz.targets import targets

CRASHES: Final = Path(__file__).with_name("crashes")
STEPS: Final = re.compile(r"cov: (\d+)")
INPUTS: Final = re.compile(r"stat::number_of_executed_units: *(\d+)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """One target: inputs tried, steps between lines reached, seeds kept, inputs that crashed."""

    name: str
    inputs: int
    steps: int
    seeds: int
    crashes: int


def fuzz(name: str, seconds: str) -> Outcome:
    """Runs a target, keeps what it found."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        for part in ("found", "starts", "crashes"):
            (folder / part).mkdir()
        for raw in starts_of(name):
            (folder / "starts" / sha256(raw).hexdigest()).write_bytes(raw)
        ran = subprocess.run(
            [sys.executable, "-m", "fuzz.engine", name, seconds, place],
            capture_output=True,
            text=True,
            errors="replace",
            check=False,
        )
        crashes = tuple((folder / "crashes").iterdir())
        if ran.returncode and not crashes:
            raise SystemExit(f"{name}: {ran.stderr[-2000:]}")
        for crash in crashes:
            _keep_crash(name, crash, ran.stderr)
        return Outcome(
            name=name,
            inputs=sum(map(int, INPUTS.findall(ran.stderr))),
            steps=max(map(int, STEPS.findall(ran.stderr)), default=0),
            seeds=_keep_seeds(name, folder / "found"),
            crashes=len(crashes),
        )


def _keep_crash(name: str, crash: Path, said: str) -> None:
    kept = CRASHES / name
    kept.mkdir(parents=True, exist_ok=True)
    (kept / crash.name).write_bytes(crash.read_bytes())
    (kept / f"{crash.name}.txt").write_text(said[-20_000:], "utf-8")


def _keep_seeds(name: str, found: Path) -> int:
    candidates = {path.read_bytes() for path in found.iterdir()} | set(seeds_of(name))
    own = worth_keeping(targets()[name].run, candidates - set(EVERYBODYS), EVERYBODYS)
    return keep_seeds(name, own)


def main(seconds: str, *names: str) -> int:
    """Fails where something crashed."""
    crashes = inputs = 0
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        for one in pool.map(lambda name: fuzz(name, seconds), names or targets()):
            crashes += one.crashes
            inputs += one.inputs
            sys.stdout.write(
                f"{one.name:28}{one.inputs:10} inputs{one.steps:7} steps{one.seeds:5} seeds"
                f"{one.crashes:3} crashes\n"
            )
            sys.stdout.flush()
    sys.stdout.write(f"{inputs} inputs in all, {crashes} crashes\n")
    return 1 if crashes else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
