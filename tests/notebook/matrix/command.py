"""`python tests/notebook faults`: chooses, runs, shows; ends with 0 when all is named right."""

import argparse
import sys
import time
from pathlib import Path

from notebook.image import built_image
from notebook.matrix.case import SEED, count_masked
from notebook.matrix.fault import load_faults
from notebook.matrix.outcome import count_rules
from notebook.matrix.table import show_table, show_troubles
from notebook.matrix.whole import (
    HEALTHY,
    PAIRS,
    Choice,
    Matrix,
    choose,
    delete_rules,
    keep,
    run_matrix,
)

WRONG = 1


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds which cases, and where to write what came of them."""
    parser.add_argument("names", nargs="*", metavar="NOTEBOOK/FAULT[+FAULT]")
    parser.add_argument("--pairs", type=int, default=PAIRS, help=f"random pairs; default {PAIRS}")
    parser.add_argument("--seed", type=int, default=SEED, help="of the pairs")
    parser.add_argument("--healthy", type=int, default=HEALTHY, help="healthy variations at most")
    parser.add_argument("--few", action="store_true", help="those that stand for all")
    parser.add_argument("--out", type=Path, metavar="DIR", help="keep evidence and reports")
    parser.add_argument("--table", type=Path, metavar="FILE", help="write the table to a file too")
    parser.set_defaults(run=run)


def run(asked: argparse.Namespace) -> int:
    """Runs the chosen cases."""
    choice = Choice(
        names=tuple(asked.names),
        pairs=asked.pairs,
        seed=asked.seed,
        healthy=asked.healthy,
        few=asked.few,
    )
    image, begun = built_image(), time.monotonic()
    matrix = run_matrix(choose(choice), image, _say)
    matrix.troubles += delete_rules(matrix)
    matrix.seconds = time.monotonic() - begun
    if asked.out:
        keep(matrix, asked.out)
    shown = show(matrix)
    print(shown)  # noqa: T201 - a command
    if asked.table:
        asked.table.write_text(page(shown, choice), "utf-8")
    return 0 if matrix.is_right else WRONG


def show(matrix: Matrix) -> str:
    """The table, then everything that is not as it should be."""
    planted = [one.case for one in matrix.outcomes if one.case.faults]
    spent = sum(run.processor_seconds for run in matrix.runs.values())
    lines = [
        show_table(matrix.outcomes),
        "",
        f"{len(matrix.outcomes)} cases in {matrix.seconds / 60:.1f} minutes.",
        f"{spent / 60:.1f} minutes of processor time went into the emulators.",
        f"{count_rules(planted)} rules are named, and each was deleted once within that time.",
        "Below stands what is not as it should be; nothing, where all is right.",
        *show_troubles(matrix.outcomes),
        *matrix.troubles,
    ]
    return "\n".join(lines)


def page(shown: str, choice: Choice) -> str:
    """What is kept of a run, as a page of the manual."""
    possible, masked = count_masked(load_faults())
    return f"""# The fault matrix

Made by `make matrix`: every single fault, {choice.pairs} random pairs (seed {choice.seed}; of \
{possible} pairs of faults of one notebook {masked} are masked and never drawn), and the healthy \
variations, each a booted notebook in which the agent ran. False alarms are findings that no \
planted fault leads to.

{shown}
"""


def _say(line: str) -> None:
    sys.stderr.write(f"{line}\n")
