"""Speed as ratios inside one run: `python tests/speed/ratios.py`. Figures for people, no gate.

Each figure is the least of several rounds, against the plainest code that does the same reading
or parsing on the same bytes.
"""

import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from closeout.check import ROUNDS, judge_evidence, read_out
from closeout.cli.terms import load_demands
from closeout.kernel.capture import record_folder
from closeout.kernel.evidence_file import encode_evidence, encode_lines
from strategies.fen import HEALTHY
from strategies.notebook import draw_notebook
from strategies.runs import conditions

ROUNDS_TIMED = 5
MILLISECONDS = 1000


def least(action: Callable[[], object]) -> float:
    """Milliseconds of the fastest round."""
    times = []
    for _ in range(ROUNDS_TIMED):
        start = time.perf_counter()
        action()
        times.append(time.perf_counter() - start)
    return min(times) * MILLISECONDS


def lay_out(root: Path) -> list[Path]:
    """The drawn notebook as a folder; the files in it."""
    tree = draw_notebook(HEALTHY)
    files = []
    for name, content in tree.files.items():
        if isinstance(content, bytes):
            (root / name).parent.mkdir(parents=True, exist_ok=True)
            (root / name).write_bytes(content)
            files.append(root / name)
    for name, target in tree.links.items():
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).symlink_to(os.path.relpath(root / target, (root / name).parent))
    return files


def say(what: str, ours: float, plain: float, against: str) -> None:
    """One line: milliseconds, and how many times the plain way."""
    print(  # noqa: T201 - the figure is what it is for
        f"{what:<44} {ours:8.1f} ms  {ours / plain:5.1f} x {against} ({plain:.1f} ms)"
    )


def main() -> None:
    """Measures, and prints one line a figure."""
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder)
        files = lay_out(root)
        evidence = record_folder(root, ROUNDS, conditions())
        print(  # noqa: T201 - says what was measured
            f"drawn notebook: {len(files)} files, {len(evidence.records)} readings"
        )
        plain = least(lambda: [file.read_bytes() for file in files])
        reading = least(lambda: record_folder(root, ROUNDS, conditions()))
        say("record a folder", reading, plain, "a read_bytes loop")
        lines = encode_lines(evidence).decode().splitlines()
        parsing = least(lambda: [json.loads(line) for line in lines])
        readout = read_out(evidence)
        terms = load_demands(None, None).terms(readout.inventory, 1)
        say("evidence to devices", least(lambda: read_out(evidence)), parsing, "json.loads")
        judging = least(lambda: judge_evidence(evidence, readout, terms))
        say("devices to report", judging, parsing, "json.loads")
        file = root / "evidence.jsonl.gz"
        file.write_bytes(encode_evidence(evidence))
        start = least(lambda: subprocess.run([sys.executable, "-c", "pass"], check=True))
        command = [sys.executable, "-m", "closeout", "check", "--evidence", str(file)]
        command += ["--out", str(root / "out")]
        whole = least(lambda: subprocess.run(command, check=False, capture_output=True))
        say("check --evidence, start to reports", whole, start, "python -c pass")


if __name__ == "__main__":
    main()
