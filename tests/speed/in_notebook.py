"""Where the time of a live check goes on a real kernel: `python tests/speed/in_notebook.py fen-14`.

The check runs in a booted notebook, three times; its report says the time by reader. Beside it a
plain loop opens the same files, lists the same folders and follows the same links, with nothing in
between. Figures for people, no gate: the processor is emulated, so only the ratios mean anything.
"""

import json
import statistics
import sys
from collections.abc import Mapping
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from closeout.kernel.evidence_file import decode_evidence
from notebook.checked import Checked, check
from notebook.description import load_notebook
from notebook.image import built_image
from notebook.machine import Machine
from notebook.template import restored

ROUNDS_TIMED = 3
PLAIN = """
import json, os, sys, time
asked = json.load(sys.stdin)
def read(path):
    with open(path, "rb") as file:
        file.read()
actions = {"read": read, "names": os.listdir, "target": os.readlink}
start = time.perf_counter()
for kind, paths in asked.items():
    for path in paths:
        try:
            actions[kind]("/" + path)
        except OSError:
            pass
print(time.perf_counter() - start)
"""


def questions_of(checked: Checked) -> dict[str, list[str]]:
    """The paths that the check asked the kernel for, by how."""
    asked: dict[str, list[str]] = {"read": [], "names": [], "target": []}
    for record in decode_evidence(checked.evidence).records:
        if record.question.kind in asked:
            asked[record.question.kind].append(record.question.text)
    return asked


def plain_seconds(machine: Machine, asked: Mapping[str, list[str]]) -> float:
    """How long the plain loop takes, without the start of Python."""
    given = json.dumps(asked).encode()
    return float(machine.session.run("python3", "-c", PLAIN, given=given).text)


def main() -> None:
    """Prints the figures of one notebook."""
    name = sys.argv[1]
    with restored(load_notebook(name), built_image()) as machine:
        runs = [check(machine, name, "root") for _ in range(ROUNDS_TIMED)]
        asked = questions_of(runs[0])
        plain = min(plain_seconds(machine, asked) for _ in range(ROUNDS_TIMED))
        started = machine.session.run("closeout", "--version").seconds
    whole = statistics.median(run.ran.seconds for run in runs)
    by_reader = runs[-1].report["reader_microseconds"]
    lines = [
        f"{name}: whole check {whole:.2f} s, of it start of the program {started:.2f} s",
        f"questions: {', '.join(f'{len(paths)} {kind}' for kind, paths in asked.items())}",
        f"plain loop over them {plain:.3f} s; the whole is {whole / plain:.0f} times that",
        *(
            f"  {kind:16} {spent / 1e6:7.3f} s {spent / 1e6 / plain:7.1f}"
            for kind, spent in sorted(by_reader.items(), key=lambda item: -item[1])
        ),
    ]
    sys.stdout.write("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
