"""`closeout profile`: look after the files that say what a model must have."""

import argparse
from pathlib import Path

from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import DONE, ExitCode
from closeout.cli.words import say_line
from closeout.expect.load import lint_files


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds the one action there is."""
    actions = parser.add_subparsers(dest="action", required=True, metavar="ACTION")
    lint = actions.add_parser(
        "lint", help="every mistake in profiles and work orders, with its place"
    )
    lint.add_argument("files", nargs="+", metavar="FILE", type=Path)


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Names every mistake of every file."""
    mistakes = lint_files(options.files)
    if mistakes is not None:
        for mistake in mistakes.found:
            say_line(mistake.show(), surroundings.stdout)
        return ExitCode.BAD_INPUT
    count = len(options.files)
    surroundings.stdout.write(f"no mistakes in {count} file{'s' if count > 1 else ''}\n")
    return DONE
