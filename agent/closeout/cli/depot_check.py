"""`closeout depot check`: many recordings judged at once.

The same as `closeout check --evidence PATH...`, by the door that a depot's lead looks for: options,
output and exit code are those of that command.
"""

from __future__ import annotations

import argparse
from pathlib import Path

from closeout.cli import check
from closeout.cli.batch import run_batch
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import ExitCode


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds the recordings and all that `check` takes."""
    parser.add_argument(
        "recordings", metavar="PATH", nargs="+", type=Path, help="recordings, or folders of them"
    )
    check.add_arguments(parser)


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Judges them all; of the codes that they would end with the weightiest is its own."""
    options.evidence = [*options.recordings, *(options.evidence or ())]
    return run_batch(options, surroundings)
