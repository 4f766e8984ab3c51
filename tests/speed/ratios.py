"""Speed as ratios inside one run: `python tests/speed/ratios.py`. Figures for people, no gate.

Each figure is the least of several rounds, against the plainest code that does the same reading
or parsing on the same bytes, with the most that it may be. Run it on a machine that does nothing
else: where others work too, only the ratios of work inside one process mean something.
"""

import compileall
import json
import os
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from memory import largest_pss
from slow_devices import DEVICES, LONG, READINGS, SHORT, record_slow_machine, slowest_seconds
from sysfs_folder import lay_out_sysfs
from timing import (
    MILLISECONDS,
    least,
    least_of_runs,
    least_processor,
    least_processor_of_runs,
    say,
    tell,
)

import closeout
from closeout.check import ROUNDS, judge_evidence, read_out
from closeout.cli.demo import demo_units
from closeout.cli.terms import load_demands
from closeout.expect.shipped import shipped_folder
from closeout.kernel.capture import record_folder
from closeout.kernel.evidence import Evidence
from closeout.kernel.evidence_file import encode_evidence, encode_lines
from closeout.kernel.folder import FolderTree
from closeout.kernel.recorder import Recorder
from closeout.model.frozen import replace
from strategies.fen import HEALTHY
from strategies.notebook import draw_notebook
from strategies.runs import conditions

MOST_MB = 80
BATCH = 200
BY_PROCESSOR = "  the same in time of the processor"


def lay_out(root: Path) -> None:
    """The drawn notebook as a folder."""
    tree = draw_notebook(HEALTHY)
    for name, content in tree.files.items():
        if isinstance(content, bytes):
            (root / name).parent.mkdir(parents=True, exist_ok=True)
            (root / name).write_bytes(content)
    for name, target in tree.links.items():
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).symlink_to(os.path.relpath(root / target, (root / name).parent))


def measure_folder(root: Path) -> None:
    """Reading a large folder, against a loop over its files."""
    files, asked = lay_out_sysfs(root)
    tell(f"folder in the shape of sysfs: {len(files)} files, half of them asked for by a link")

    def read_all() -> None:
        recorder = Recorder(FolderTree(root), time.monotonic_ns)
        for question in asked:
            recorder.read(question)

    def read_plainly() -> None:
        for file in files:
            file.read_bytes()

    what, plain = "read and record every file", "Path.read_bytes loop"
    say(what, least(read_all), least(read_plainly), plain, 2)
    say(BY_PROCESSOR, least_processor(read_all), least_processor(read_plainly), plain, 2)


def measure_judging(name: str, evidence: Evidence) -> None:
    """Judging, against parsing the lines of the same evidence."""
    tell(f"{name}: {len(evidence.records)} readings")
    lines = encode_lines(evidence).decode().splitlines()
    parsing = least(lambda: [json.loads(line) for line in lines])
    readout = read_out(evidence)
    terms = load_demands(None, None).terms(readout.inventory, 1)
    judging = least(lambda: judge_evidence(evidence, readout, terms))
    say("judge: devices to report", judging, parsing, "json.loads", 4)
    reading = least(lambda: read_out(evidence))
    say("beside it, read out: evidence to devices", reading, parsing, "json.loads")


def measure_start(root: Path, evidence: Evidence) -> None:
    """A whole `check --evidence` from the start of the interpreter, as it is once installed."""
    file = root / "evidence.jsonl.gz"
    file.write_bytes(encode_evidence(evidence))
    environment = dict(os.environ, PYTHONPATH=str(_install(root / "installed")))
    command = [sys.executable, "-m", "closeout", "check", "--evidence", str(file)]
    command += ["--out", str(root / "out")]
    subprocess.run(command, check=False, capture_output=True, env=environment)
    tell(f"check --evidence of {len(evidence.records)} readings, no terminal, modules compiled")
    plain = [sys.executable, "-c", "pass"]
    what, against = "start of the interpreter to reports written", "python -c pass"
    spent = [least_of_runs(one, environment, 20) for one in (command, plain)]
    say(what, *spent, against, 15)
    spent = [least_processor_of_runs(one, environment, 20) for one in (command, plain)]
    say(BY_PROCESSOR, *spent, against, 15)


def _install(folder: Path) -> Path:
    """A copy of the program, its files in it and its modules compiled, as a wheel leaves it."""
    package = folder / "closeout"
    shutil.copytree(Path(closeout.__file__).parent, package)
    for name in ("profiles", "reports"):
        shutil.copytree(shipped_folder(name), package / "shipped" / name, dirs_exist_ok=True)
    compileall.compile_dir(package, quiet=1)
    return folder


def measure_batch(root: Path) -> None:
    """Many recordings in one command, from its start to its end, on all processors.

    They are parsed as many times, since a machine that others use too is not as fast all the time
    as it is at its best.
    """
    folder = root / "captured"
    folder.mkdir()
    evidence = next(demo_units()).evidence()
    for number in range(BATCH):
        raw = encode_evidence(_another(evidence, number))
        (folder / f"{number:03}.jsonl.gz").write_bytes(raw)
    lines = encode_lines(evidence).decode().splitlines()
    processors = len(os.sched_getaffinity(0))
    tell(f"batch of {BATCH} recordings of {len(lines) - 1} readings, {processors} processors")
    command = [sys.executable, "-m", "closeout", "check", "--quiet"]
    command += ["--out", str(root / "batch"), "--evidence", str(folder)]
    environment = dict(os.environ, PYTHONPATH=str(root / "installed"))
    spent = least_of_runs(command, environment, 3) / BATCH
    parsing = least(lambda: [json.loads(line) for _ in range(BATCH) for line in lines], 3) / BATCH
    say("check --evidence DIR, for one unit", spent, parsing, "json.loads", 15)


def _another(evidence: Evidence, number: int) -> Evidence:
    """Another unit of the model: its own serial, and its own time for each reading."""
    serial = read_out(evidence).inventory.section("system").devices[0].serial.value.encode()
    own = serial[:-3] + b"%03d" % number
    return replace(
        evidence,
        records=tuple(
            replace(
                record,
                answer=record.answer.replace(serial, own)
                if isinstance(record.answer, bytes)
                else record.answer,
                microseconds=record.microseconds + number,
            )
            for record in evidence.records
        ),
    )


def measure_crew() -> None:
    """Many devices at once, one reading at a time on each."""
    readings = f"{READINGS} readings of {SHORT * MILLISECONDS:.0f} ms over {DEVICES} devices"
    tell(f"slow machine: {readings}, one of {LONG:g} s on the last")
    spent = least(record_slow_machine, 3)
    say("record it live", spent, slowest_seconds() * MILLISECONDS, "its slowest device", 1.2)


def measure_memory(root: Path) -> None:
    """Memory of a live check, and of one whose children are all at work."""
    tell(f"memory, PSS of the program and its children together, at most {MOST_MB} MB")
    here = Path(__file__).resolve().parent
    live = [sys.executable, "-m", "closeout", "check", "--out", str(root / "out")]
    for what, command in (
        ("live check of this machine", live),
        ("slow machine, all children at work", [sys.executable, str(here / "slow_devices.py")]),
    ):
        megabytes, processes = largest_pss(command, dict(os.environ))
        mark = "ok  " if megabytes <= MOST_MB else "OVER"
        print(f"{mark} {what:<46} {megabytes:6.1f} MB in {processes} processes")  # noqa: T201 - a figure


def main() -> None:
    """Measures, and prints one line a figure."""
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder)
        for name in ("drawn", "sysfs"):
            (root / name).mkdir()
        lay_out(root / "drawn")
        measure_folder(root / "sysfs")
        drawn = record_folder(root / "drawn", ROUNDS, conditions())
        measure_judging("drawn notebook", drawn)
        for unit in demo_units():
            measure_judging(unit.folder.name, unit.evidence())
        measure_start(root, drawn)
        measure_batch(root)
        measure_crew()
        measure_memory(root)


if __name__ == "__main__":
    main()
